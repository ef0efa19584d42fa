/// Fuzz target of the reader: any text is parsed, then read against a definition that holds every kind of field. Beyond
/// crashes it checks what must hold for every text.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/input/record.h"
#include "unit/input/definitions.h"

using namespace tileflux;
using namespace tileflux::input;

namespace {

/// A small bound on nodes keeps a run fast and reaches the bound.
constexpr Bounds bounds{.bytes = 1u << 16, .nodes = 2000};

/// Deeper than the bound on depth lets it get is a fault.
void walk(const Node& node, int depth) {
  if (depth > bounds.depth) std::abort();
  for (const Node& item : node.items) walk(item, depth + 1);
  for (const Node::Entry& entry : node.entries) walk(entry.value, depth + 1);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const Section definition = samples::every_field();
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  std::vector<Diagnostic> findings;
  const Document document = parse_document(text, "fuzz.yaml", findings, bounds);
  walk(document.root, 0);
  if (!document.complete && findings.empty()) std::abort();
  const Reading reading = read_record(document, definition, findings);
  for (const Diagnostic& finding : findings) {
    const bool outside = finding.place.line > static_cast<int>(document.lines.size()) + 1 && !document.lines.empty();
    if (finding.message.empty() || finding.place.line < 0 || outside || describe(finding).empty()) std::abort();
  }
  // A text without findings gives a record that can be asked.
  if (findings.empty() && reading.record.count("tileflux") != 1) std::abort();
  return 0;
}
