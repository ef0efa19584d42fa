#include "tile/name_check.h"

#include <algorithm>
#include <string>
#include <string_view>

#include "tileflux/base/spelling.h"

namespace tileflux::tile {

namespace {

using input::Node;
using Names = std::vector<std::string>;

/// Visits what a path leads to: words are keys, `*` is every entry or item.
template <class Visit>
void walk(const Node& node, std::string_view pattern, const std::string& path, const Visit& visit) {
  if (pattern.empty()) return visit(node, path);
  const std::string_view word = pattern.substr(0, pattern.find('.'));
  const std::string_view rest = pattern.substr(std::min(word.size() + 1, pattern.size()));
  for (const Node::Entry& entry : node.entries) {
    if (word == "*" || word == entry.key)
      walk(entry.value, rest, path.empty() ? entry.key : path + '.' + entry.key, visit);
  }
  if (word != "*") return;
  for (std::size_t i = 0; i < node.items.size(); ++i)
    walk(node.items[i], rest, path + '[' + std::to_string(i) + ']', visit);
}

Names keys_at(const Node& root, std::string_view pattern, std::string_view ending = {}) {
  Names names;
  walk(root, pattern, {}, [&](const Node& node, const std::string&) {
    for (const Node::Entry& entry : node.entries) names.push_back(entry.key + std::string(ending));
  });
  return names;
}

void add(Names& names, const Names& more) { names.insert(names.end(), more.begin(), more.end()); }

/// Nodes of the tile as far as the text shows them; a sliced layer gives `name.1` ..., of which any number will do.
Names nodes_of(const Node& root) {
  Names nodes = keys_at(root, "parts");
  add(nodes, keys_at(root, "lasers", ".junction"));
  add(nodes, keys_at(root, "stores"));
  add(nodes, keys_at(root, "heat_pipes", ".evaporator"));
  add(nodes, keys_at(root, "heat_pipes", ".condenser"));
  Names zones;
  walk(root, "stack.zones.names.*", {}, [&](const Node& node, const std::string&) { zones.push_back(node.text); });
  walk(root, "stack.layers.*.name", {}, [&](const Node& node, const std::string&) {
    nodes.push_back(node.text);
    for (const std::string& zone : zones) nodes.push_back(node.text + '.' + zone);
  });
  for (const std::string& surface : keys_at(root, "surfaces"))
    nodes.push_back(surface);  // of a fin in segments: `name.1` ...
  return nodes;
}

bool is_slice(const std::string& name, const std::string& of) {
  return name.size() > of.size() + 1 && name.starts_with(of) && name[of.size()] == '.' &&
         name.find_first_not_of("0123456789", of.size() + 1) == std::string::npos;
}

class NameCheck {
 public:
  NameCheck(const input::Document& document, std::vector<Diagnostic>& findings)
      : document_(document), findings_(findings) {}

  /// One reference: `what` says what a name here ought to be.
  void check(const std::string& name, int line, int column, const std::string& path, const Names& known,
             const char* what) {
    const bool found = std::any_of(known.begin(), known.end(),
                                   [&](const std::string& one) { return one == name || is_slice(name, one); });
    const bool told = std::any_of(findings_.begin(), findings_.end(), [&](const Diagnostic& one) {
      return one.place.line == line && one.place.column == column;
    });
    if (found || told) return;
    findings_.push_back(document_.finding(Code::name_unknown, line, column, path, '\'' + name + "' is " + what));
    const std::string nearest = nearest_spelling(name, known);
    if (!nearest.empty()) findings_.back().suggestion = "did you mean '" + nearest + "'?";
  }

  void check_all(std::string_view pattern, const Names& known, const char* what) {
    walk(document_.root, pattern, {}, [&](const Node& node, const std::string& path) {
      if (node.kind == Node::Kind::scalar) check(node.text, node.line, node.column, path, known, what);
    });
  }

 private:
  const input::Document& document_;
  std::vector<Diagnostic>& findings_;
};

}  // namespace

void check_names(const input::Document& document, const materials::Library& library,
                 std::vector<Diagnostic>& findings) {
  const Node& root = document.root;
  NameCheck names(document, findings);
  const Names nodes = nodes_of(root);
  constexpr const char* no_node = "no part, layer or junction of this tile";
  for (const char* pattern : {"joins.*.between.*",
                              "differences.*.between.*",
                              "infrared.*.between.*",
                              "surfaces.*.on",
                              "surfaces.*.absorbed_in.*.node",
                              "loads.*.on",
                              "cells.on",
                              "cells.shunt",
                              "enclosures.*.faces.*.on",
                              "conditioning.on",
                              "housekeeping.on",
                              "lasers.*.mount",
                              "optics.on",
                              "battery.on",
                              "heaters.*.on",
                              "heaters.*.sensor",
                              "stores.*.in",
                              "heat_pipes.*.evaporators.*.on",
                              "heat_pipes.*.condensers.*.on",
                              "lasers.*.driver.on",
                              "lasers.*.amplifier.on",
                              "lasers.*.amplifier.unabsorbed_in",
                              "emitting_path.*"}) {
    names.check_all(pattern, nodes, no_node);
  }
  walk(root, "limits", {}, [&](const Node& limits, const std::string& path) {
    for (const Node::Entry& entry : limits.entries)
      names.check(entry.key, entry.line, entry.column, path + '.' + entry.key, nodes, no_node);
  });
  names.check_all("cells.surface", keys_at(root, "surfaces"), "no surface of this tile");

  const auto with_own = [&](Names known, std::string_view pattern) {
    add(known, keys_at(root, pattern));
    return known;
  };
  const Names solids = with_own(library.solid_names(), "materials.solids");
  for (const char* pattern :
       {"parts.*.material", "joins.*.material", "stack.layers.*.material", "surfaces.*.fin.material"})
    names.check_all(pattern, solids, "no solid that is known");
  for (const char* pattern : {"surfaces.*.finish", "enclosures.*.faces.*.finish"}) {
    names.check_all(pattern, with_own(library.surface_names(), "materials.surfaces"),
                    "no surface finish that is known");
  }
  names.check_all("cells.type", with_own(library.cell_names(), "materials.cells"), "no cell type that is known");
}

}  // namespace tileflux::tile
