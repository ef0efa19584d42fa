/// What a result must carry so that a report can be made from it alone: the case as read, what it was computed with,
/// and how the tile is built.

#include <algorithm>
#include <set>

#include "cli/case_tables.h"
#include "cli/json_parts.h"
#include "tileflux/results/digest.h"

namespace tileflux::cli {

namespace {

/// Nodes of a layer, sun side first in each zone.
std::vector<std::string> nodes_of(const tile::Stack& stack, const tile::Layer& layer, int slice) {
  const std::string name = layer.slices == 1 ? layer.name : layer.name + '.' + std::to_string(slice + 1);
  if (stack.zones.empty()) return {name};
  std::vector<std::string> nodes;
  for (const tile::Zone& zone : stack.zones) nodes.push_back(name + '.' + zone.name);
  return nodes;
}

/// Nodes in which something of the chain or a load gives off heat, mounts of lasers left out: those are benches.
std::set<std::string> heated_nodes(const tile::Case& description) {
  std::set<std::string> nodes;
  for (const tile::Load& load : description.loads) nodes.insert(load.node);
  if (description.conditioning) nodes.insert(description.conditioning->node);
  if (description.housekeeping) nodes.insert(description.housekeeping->node);
  if (description.battery) nodes.insert(description.battery->node);
  if (description.optics) nodes.insert(description.optics->node);
  for (const tile::Bank& bank : description.lasers) {
    nodes.insert(bank.name + ".junction");
    for (const std::string& node : {bank.driver, bank.fibre, bank.unabsorbed}) nodes.insert(node);
  }
  for (const tile::Bank& bank : description.lasers) nodes.erase(bank.mount);
  nodes.erase("");
  return nodes;
}

/// How the tile would be drawn: its layers from the Sun downwards, then sheets that radiate and what gives off heat.
/// Parts that are neither are benches and not listed.
Json section_of(const tile::Case& description) {
  Json parts = Json::array();
  std::set<std::string> listed;
  if (description.stack) {
    for (const tile::Layer& layer : description.stack->layers) {
      for (int slice = 0; slice < layer.slices; ++slice) {
        const std::vector<std::string> nodes = nodes_of(*description.stack, layer, slice);
        listed.insert(nodes.begin(), nodes.end());
        parts.push_back({{"name", layer.slices == 1 ? layer.name : layer.name + '.' + std::to_string(slice + 1)},
                         {"role", "layer"},
                         {"nodes", nodes},
                         {"material", layer.material.name},
                         {"thickness_m", layer.thickness_m / layer.slices}});
      }
    }
  }
  const std::set<std::string> heated = heated_nodes(description);
  const auto add = [&](const std::string& node, const char* role) {
    if (listed.insert(node).second) parts.push_back({{"name", node}, {"role", role}, {"nodes", {node}}});
  };
  for (const tile::Surface& surface : description.surfaces) {
    const int segments = surface.fin ? surface.fin->segments : 0;
    for (int i = 0; i < segments; ++i) add(surface.name + '.' + std::to_string(i + 1), "fin");
    const bool is_part = std::any_of(description.parts.begin(), description.parts.end(),
                                     [&](const tile::Part& part) { return part.name == surface.node; });
    if (is_part && segments == 0 && !surface.fin && heated.count(surface.node) == 0) add(surface.node, "fin");
  }
  for (const std::string& node : heated) add(node, "device");
  return parts;
}

Json materials_of(const std::vector<tile::UsedSource>& sources) {
  Json list = Json::array();
  for (const tile::UsedSource& used : sources) {
    list.push_back({{"material", used.material},
                    {"property", used.property},
                    {"value_si", number(used.value_si)},
                    {"unit", used.unit},
                    {"over_temperature", used.table},
                    {"basis", used.basis},
                    {"uncertainty", used.uncertainty},
                    {"source", used.source}});
  }
  return list;
}

/// The case as it was read, and the tables that it names as they stand beside it now.
Json input_of_case(const std::string& text, const std::string& case_file) {
  Json tables = Json::array();
  for (const std::string& name : tables_named_in(text)) {
    const std::string content = content_of(std::filesystem::path(case_file).parent_path() / name);
    if (!content.empty())
      tables.push_back({{"file", name}, {"bytes", content.size()}, {"sha256", results::sha256_of(content)}});
  }
  return {{"text", text}, {"bytes", text.size()}, {"sha256", results::sha256_of(text)}, {"tables", std::move(tables)}};
}

}  // namespace

void add_provenance(Json& json, const tile::CaseFile& file) {
  json["section"] = section_of(file.description);
  json["accuracy"] = {{"relative", file.description.accuracy.relative},
                      {"absolute_K", file.description.accuracy.absolute_K}};
  json["materials_used"] = materials_of(file.sources);
  if (file.text) json["input"] = input_of_case(*file.text, file.file);
}

}  // namespace tileflux::cli
