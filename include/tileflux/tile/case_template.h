#pragma once
/// One case file, read once, as many cases: values at paths put in place of those that the file states.

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "tileflux/input/override.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::tile {

/// A value in SI units for the quantity at a path of the case, such as `sun.distance`.
using Override = std::pair<std::string, double>;

/// Keeps the document and the materials that cases are made from. Calls may run side by side.
class CaseTemplate {
 public:
  /// Reads the case as it stands. Throws Error with all findings, as read_case does.
  CaseTemplate(const std::string& file, const materials::Library& library);
  /// The same from text; `file` is the name to be shown.
  CaseTemplate(std::string_view text, const std::string& file, const materials::Library& library);

  /// The case as the file has it.
  const CaseFile& as_written() const { return as_written_; }

  /// What stands at a path: its dimension, range, text and value. Throws Error as input::quantity_at does.
  input::QuantityAt value_at(std::string_view path) const;
  /// Every path that value_at knows.
  std::vector<std::string> paths() const;

  /// The case with these values in place of those that the file states or leaves to defaults, through the same
  /// definition and the same checks. Throws Error: as value_at does; with all findings where the case is not sound with
  /// them, those about a value put in with its path and no line.
  CaseFile with(const std::vector<Override>& values) const;

 private:
  struct Text;
  CaseTemplate(Text text, const materials::Library& library);

  input::Document document_;
  materials::Library library_;
  CaseFile as_written_;
};

}  // namespace tileflux::tile
