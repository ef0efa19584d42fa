#include "tileflux/tile/case_reader.h"

#include <algorithm>

#include "tile/case_builder.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile {

namespace {

bool has_error(const std::vector<Diagnostic>& findings) {
  return std::any_of(findings.begin(), findings.end(), [](const Diagnostic& d) { return d.severity == Severity::error; });
}

/// Findings in the order of the file, whatever order the checks ran in.
[[noreturn]] void refuse(std::vector<Diagnostic> findings) {
  std::stable_sort(findings.begin(), findings.end(), [](const Diagnostic& a, const Diagnostic& b) {
    return std::pair(a.place.line, a.place.column) < std::pair(b.place.line, b.place.column);
  });
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
    diagnostic.message = "'" + system.network().node(id).name + "' has no path to space or to a part at fixed temperature: it has no steady state";
    findings.push_back(std::move(diagnostic));
  }
}

CaseFile from_document(const input::Document& document, std::vector<Diagnostic> findings, const materials::Library& library) {
  if (has_error(findings)) refuse(std::move(findings));
  static const input::Section definition = case_definition();
  const input::Reading reading = input::read_record(document, definition, findings);
  if (has_error(findings)) refuse(std::move(findings));

  materials::Library all = library;
  if (reading.record.has("materials")) materials::add_entries(reading.record.section("materials"), document, all, findings);
  CaseBuilder builder(reading.record, document, all, findings);
  CaseFile result;
  result.file = document.file;
  result.description = builder.build();
  if (has_error(findings)) refuse(std::move(findings));
  warn_of_isolation(result.description, document.file, findings);
  result.defaults = reading.defaults;
  result.sources = builder.sources();
  result.warnings = std::move(findings);
  return result;
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

}  // namespace tileflux::tile
