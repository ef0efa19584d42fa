#pragma once
/// A value of a document put in place of the one that it states, reached by the way of keys from the top: what is then
/// read goes through the definition like any other text.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/input/definition.h"
#include "tileflux/input/document.h"

namespace tileflux::input {

/// A quantity of a document. Paths are those of diagnostics: `sun.distance`, `joins[0].conductance`,
/// `surfaces.front.area`, `limits.laser.junction.below`, `shares[1]`, `table[2][0]`.
struct QuantityAt {
  std::string path;
  QuantityType type;
  std::optional<std::string> text;  ///< as it stands in the file, or the default; none: it may stand and does not
  std::optional<double> value_si;   ///< of `text`
  bool stated = false;              ///< stands in the file
  Place place;                      ///< of the value, or of the section that could state it
};

/// The quantity at a path of a document that was read without findings. A key that is not stated is found where its
/// section stands or has a default. Throws Error: key_unknown (with the nearest path), key_missing (a section that is
/// not there and cannot be had by one key), count_out_of_bounds (an index), wrong_kind (no quantity stands there).
QuantityAt quantity_at(const Document& document, const Section& definition, std::string_view path);

/// Every path that quantity_at finds, in the order of the definition.
std::vector<std::string> quantity_paths(const Document& document, const Section& definition);

/// Puts a value in SI units there. It has no place in the file: what is found about it carries its path alone. Throws
/// as quantity_at does. Ranges are for the reader to check.
void put_quantity(Document& document, const Section& definition, std::string_view path, double value_si);

}  // namespace tileflux::input
