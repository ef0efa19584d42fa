#include "tileflux/tile/case_reader.h"

#include <algorithm>
#include <iterator>
#include <tuple>

#include "tile/case_builder.h"
#include "tile/case_reading.h"
#include "tile/name_check.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile {

namespace {

bool has_error(const std::vector<Diagnostic>& findings) {
  return std::any_of(findings.begin(), findings.end(),
                     [](const Diagnostic& d) { return d.severity == Severity::error; });
}

/// Findings in the order of the file, whatever order the checks ran in; then those of tables that it names.
[[noreturn]] void refuse(std::vector<Diagnostic> findings, const std::string& file) {
  // An alias stands for nothing; that nothing stands there need not be told beside it.
  const auto is_alias = [&](const Diagnostic& one) {
    return one.code == Code::empty_value && std::any_of(findings.begin(), findings.end(), [&](const Diagnostic& other) {
             return other.code == Code::yaml_anchor && other.place.line == one.place.line &&
                    other.place.column == one.place.column;
           });
  };
  std::vector<Diagnostic> told;
  std::remove_copy_if(findings.begin(), findings.end(), std::back_inserter(told), is_alias);
  findings = std::move(told);
  const auto rank = [&](const Diagnostic& one) {
    return std::tuple(one.place.file != file, std::string_view(one.place.file), one.place.line, one.place.column);
  };
  std::stable_sort(findings.begin(), findings.end(),
                   [&](const Diagnostic& a, const Diagnostic& b) { return rank(a) < rank(b); });
  throw Error(std::move(findings));
}

/// Parts that can lose heat nowhere: a transient may want that, a steady state cannot.
void warn_of_isolation(const Case& description, const std::string& file, std::vector<Diagnostic>& findings) {
  const TileSystem system(description);
  for (const network::NodeId id : system.network().isolated()) {
    Diagnostic diagnostic;
    diagnostic.code = Code::node_isolated;
    diagnostic.severity = Severity::warning;
    diagnostic.place.file = file;
    diagnostic.message = "'" + system.network().node(id).name +
                         "' has no path to space or to a part at fixed temperature: it has no steady state";
    findings.push_back(std::move(diagnostic));
  }
}

/// Whether the case is of the version read here. In another one keys may mean other things, and a file without it may
/// be no case at all: then nothing else is worth telling.
bool is_of_this_version(const input::Document& document, std::vector<Diagnostic>& findings) {
  if (document.root.kind != input::Node::Kind::map) return true;  // told by the definition
  const auto& entries = document.root.entries;
  const auto entry =
      std::find_if(entries.begin(), entries.end(), [](const input::Node::Entry& e) { return e.key == "tileflux"; });
  if (entry == entries.end()) {
    findings.push_back(document.finding(
        Code::format_version, 1, 1, {},
        "expected `tileflux: 1` at the beginning, which says that this is a case and in which format version"));
    return false;
  }
  const input::Node& version = entry->value;
  if (version.kind != input::Node::Kind::scalar || version.text == "1") return true;
  constexpr std::size_t most_quoted = 20;
  const std::string found = version.text.size() <= most_quoted ? '\'' + version.text + '\'' : "a long text";
  findings.push_back(document.finding(Code::format_version, version.line, version.column, entry->key,
                                      "this release reads cases of format version 1, found " + found));
  return false;
}

}  // namespace

SoundDocument read_soundly(const input::Document& document, std::vector<Diagnostic>& findings,
                           const materials::Library& library) {
  if (!document.complete || !is_of_this_version(document, findings)) refuse(std::move(findings), document.file);
  static const input::Section definition = case_definition();
  SoundDocument sound{input::read_record(document, definition, findings), library};
  if (has_error(findings)) {
    check_names(document, library, findings);
    refuse(std::move(findings), document.file);
  }
  if (sound.reading.record.has("materials"))
    materials::add_entries(sound.reading.record.section("materials"), document, sound.library, findings);
  return sound;
}

CaseFile built(const input::Document& document, const SoundDocument& sound, std::vector<Diagnostic> findings,
               std::optional<bool> end_of_life) {
  CaseBuilder builder(sound.reading.record, document, sound.library, findings);
  CaseFile result;
  result.file = document.file;
  result.description = end_of_life ? builder.build_at(*end_of_life, "end of life is asked for") : builder.build();
  if (has_error(findings)) refuse(std::move(findings), document.file);
  warn_of_isolation(result.description, document.file, findings);
  result.defaults = sound.reading.defaults;
  // A start that is a balance asks for no temperature.
  if (result.description.start.from != Start::From::temperature)
    std::erase_if(result.defaults, [](const input::FilledDefault& one) { return one.path == "start.temperature"; });
  result.sources = builder.sources();
  result.text = document.text;
  result.warnings = std::move(findings);
  return result;
}

SizeCases sized(const input::Document& document, const SoundDocument& sound, std::vector<Diagnostic> findings) {
  SizeCases cases;
  cases.file = built(document, sound, std::move(findings));
  if (!cases.file.description.size)
    throw Error(document.finding(Code::key_missing, 1, 1, "size", "`size` is missing: what to size, and for what"));
  const SizeSettings& size = *cases.file.description.size;
  std::vector<Diagnostic> more;
  const auto at = [&](const Surroundings& surroundings, const char* key) {
    CaseBuilder builder(sound.reading.record, document, sound.library, more);
    Case made = builder.build(surroundings, std::string("`size.") + key + "` is at end of life");
    made.size = size;
    return made;
  };
  cases.hot = at(size.hot, "hot");
  if (size.cold) cases.cold = at(size.cold->at, "cold");
  if (has_error(more)) refuse(std::move(more), document.file);
  return cases;
}

namespace {

CaseFile from_document(const input::Document& document, std::vector<Diagnostic> findings,
                       const materials::Library& library) {
  const SoundDocument sound = read_soundly(document, findings, library);
  return built(document, sound, std::move(findings));
}

SizeCases sizes_from_document(const input::Document& document, std::vector<Diagnostic> findings,
                              const materials::Library& library) {
  const SoundDocument sound = read_soundly(document, findings, library);
  return sized(document, sound, std::move(findings));
}

}  // namespace

CaseFile read_case(const std::string& file, const materials::Library& library) {
  std::vector<Diagnostic> findings;
  const input::Document document = input::read_document(file, findings);
  return from_document(document, std::move(findings), library);
}

CaseFile read_case_text(std::string_view text, const std::string& file, const materials::Library& library) {
  std::vector<Diagnostic> findings;
  const input::Document document = input::parse_document(text, file, findings);
  return from_document(document, std::move(findings), library);
}

SizeCases read_size_cases(const std::string& file, const materials::Library& library) {
  std::vector<Diagnostic> findings;
  const input::Document document = input::read_document(file, findings);
  return sizes_from_document(document, std::move(findings), library);
}

SizeCases read_size_cases_text(std::string_view text, const std::string& file, const materials::Library& library) {
  std::vector<Diagnostic> findings;
  const input::Document document = input::parse_document(text, file, findings);
  return sizes_from_document(document, std::move(findings), library);
}

}  // namespace tileflux::tile
