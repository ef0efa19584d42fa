#include "tileflux/tile/case_template.h"

#include <utility>

#include "tile/case_reading.h"

namespace tileflux::tile {

namespace {

const input::Section& definition() {
  static const input::Section section = case_definition();
  return section;
}

}  // namespace

/// A parsed file and what was found on the way.
struct CaseTemplate::Text {
  std::vector<Diagnostic> findings;
  input::Document document;

  static Text of_file(const std::string& file) {
    Text text;
    text.document = input::read_document(file, text.findings);
    return text;
  }
  static Text of(std::string_view words, const std::string& file) {
    Text text;
    text.document = input::parse_document(words, file, text.findings);
    return text;
  }
};

CaseTemplate::CaseTemplate(Text text, const materials::Library& library)
    : document_(std::move(text.document)), library_(library) {
  const SoundDocument sound = read_soundly(document_, text.findings, library_);
  as_written_ = built(document_, sound, std::move(text.findings));
}

CaseTemplate::CaseTemplate(const std::string& file, const materials::Library& library)
    : CaseTemplate(Text::of_file(file), library) {}

CaseTemplate::CaseTemplate(std::string_view text, const std::string& file, const materials::Library& library)
    : CaseTemplate(Text::of(text, file), library) {}

input::QuantityAt CaseTemplate::value_at(std::string_view path) const {
  return input::quantity_at(document_, definition(), path);
}

std::vector<std::string> CaseTemplate::paths() const { return input::quantity_paths(document_, definition()); }

CaseFile CaseTemplate::with(const std::vector<Override>& values) const {
  input::Document document = document_;
  for (const auto& [path, value_si] : values) input::put_quantity(document, definition(), path, value_si);
  std::vector<Diagnostic> findings;
  const SoundDocument sound = read_soundly(document, findings, library_);
  return built(document, sound, std::move(findings));
}

}  // namespace tileflux::tile
