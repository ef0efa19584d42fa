/// Fuzz target of the case reader: any text either gives a case or an Error with findings, never anything else.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "tileflux/materials/library.h"
#include "tileflux/tile/case_reader.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const tileflux::materials::Library library =
      tileflux::materials::read_library(TILEFLUX_PROJECT_DIR "/materials");
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  try {
    tileflux::tile::read_case_text(text, "fuzz.yaml", library);
  } catch (const tileflux::Error& error) {
    // What is wrong with a text is wrong input, not a fault of the program.
    if (error.diagnostics().empty() || error.code() == tileflux::Code::internal) std::abort();
  }
  return 0;
}
