#include "support/documents.h"

#include "support/temporary_directory.h"
#include "tileflux/base/errors.h"
#include "tileflux/input/definition.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::test {

namespace {

constexpr const char* reference_before_example =
    "Written by `cmake --build build --target write_documents` from the definition that the reader itself uses; do not "
    "edit it.\n"
    "The same definition as a JSON Schema, for editors that complete and check: [case.schema.json](case.schema.json), "
    "or\n"
    "`tileflux check --schema`. What the errors mean: [errors.md](errors.md). How to begin: [guide.md](guide.md).\n\n"
    "A case file is one YAML document. Every physical value is text with a unit, such as `1.2 kW`, `140 um`, `28 "
    "degC`,\n"
    "`-0.2 %/K` or `800 W/(m2 K)`; a bare number stands only where there is no dimension, and there `85 %` and `0.85` "
    "are\n"
    "the same. Ranges below are in SI units. Every key that is left out and has a default is printed with the result. "
    "A\n"
    "node is a layer, a part, a segment of a fin (`name.1`), or the junction of a laser bank (`name.junction`). An unknown key, a doubled key, a "
    "wrong\n"
    "dimension or a value out of range is refused with file, line and column, all of them at once.\n\n"
    "## Example\n\n"
    "A tile that uses every section once ([example-case.yaml](example-case.yaml)); it says nothing sensible, but it is "
    "sound.\n\n"
    "```yaml\n";

constexpr const char* errors_head =
    "# Errors and warnings\n\n"
    "Written by `cmake --build build --target write_documents` from the list that the program itself uses; do not edit "
    "it.\n\n"
    "A message begins with the file, line and column where there is one, then `error` or `warning` and the code, the "
    "path of\n"
    "keys, what was found and what was expected; below stand the line with a caret and, for a misspelt name, the "
    "nearest one:\n\n"
    "```text\n"
    "case.yaml:3:17: error unit-missing: sun.distance: expected a length, found '1' without a unit: write the unit, "
    "for example '1 mm'\n"
    "    sun: {distance: 1}\n"
    "                    ^\n"
    "```\n\n"
    "All findings of a file are told at once, in its order; the exit status is that of the first error. With `--json` "
    "the same\n"
    "comes as an object `error` on standard output.\n\n"
    "| exit status | means |\n| --- | --- |\n"
    "| 0 | done; warnings may stand in the result |\n"
    "| 1 | done, and the answer is no: a limit is broken, nothing is feasible |\n"
    "| 2 | the input is wrong, or a file cannot be read or written |\n"
    "| 3 | the solver failed, or its result did not close and was refused |\n"
    "| 4 | internal: a fault of the program |\n\n"
    "With status 0 or 1 the result is complete; what broke a limit, or why nothing is feasible, stands in it by "
    "name.\n\n"
    "| code | exit status | what it means | what to do |\n| --- | --- | --- | --- |\n";

std::string cell(std::string_view text) {
  std::string result;
  for (const char c : text) {
    if (c == '|') result += '\\';
    result += c;
  }
  return result;
}

std::string errors_page() {
  std::string page = errors_head;
  for (const CodeEntry& entry : all_codes()) {
    page += "| `" + std::string(entry.slug) + "` | " + std::to_string(entry.exit_status) + " | " + cell(entry.meaning) +
            " | " + cell(entry.remedy) + " |\n";
  }
  return page;
}

}  // namespace

std::vector<Document> generated_documents(const std::filesystem::path& docs) {
  const input::Section definition = tile::case_definition();
  const std::string introduction = reference_before_example + read_file(docs / "example-case.yaml") + "```";
  return {{"case-reference.md", input::reference_page(definition, "Case reference", introduction)},
          {"case.schema.json", input::json_schema(definition, "tileflux case")},
          {"errors.md", errors_page()}};
}

}  // namespace tileflux::test
