/// Fuzz target of the unit parser: the first byte chooses the field, the rest is the text. Beyond crashes it checks
/// what must hold for every text.

#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "tileflux/units/quantity.h"

using namespace tileflux::units;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static constexpr std::array<Dimension, 8> fields{
      {{"1"}, {"m"}, {"K"}, {"K", Kind::difference}, {"W/(m2 K)"}, {"1/K"}, {"rad"}, {"J"}}};
  if (size == 0) return 0;
  const Dimension& field = fields[data[0] % fields.size()];
  const std::string_view text(reinterpret_cast<const char*>(data) + 1, size - 1);
  const Parsed parsed = parse_quantity(text, field);
  if (parsed.value_si) {
    if (!std::isfinite(*parsed.value_si)) std::abort();
  } else {
    const bool placed = parsed.offset >= 0 && static_cast<std::size_t>(parsed.offset) <= text.size();
    if (parsed.message.empty() || !placed) std::abort();
  }
  // The same text gives the same answer when it is remembered.
  if (parse_quantity(text, field).value_si != parsed.value_si) std::abort();
  return 0;
}
