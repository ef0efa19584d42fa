#pragma once
/// One case file, read once, as many cases: values at paths put in place of those that the file states.

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "tileflux/input/override.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::tile {

/// A value in SI units for the quantity at a path of the case, such as `sun.distance`; or a factor on a property that
/// its materials have from the library, such as `materials.surfaces.white_paint.emittance.factor`.
using Override = std::pair<std::string, double>;

/// Something of a case that physics may depend on and that has a number.
struct CaseInput {
  std::string path;
  units::Dimension dimension;
  double value_si = 0.0;
  input::Range range;                ///< in which it may be put
  bool stated = false;               ///< stands in the file; false: a default, or from the library
  std::optional<UsedSource> source;  ///< of a value from the library
};

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
  /// Every path that value_at knows: those of the case, then those of factors on what it uses from the library.
  std::vector<std::string> paths() const;

  /// The inputs of the tile and its surroundings that have a value: without what is asked of studies and solvers
  /// (`run`, `duty`, `size`, `campaign`, `accuracy`). Properties of materials are there as factors of 1.
  std::vector<CaseInput> inputs() const;

  /// The case with these values in place of those that the file states or leaves to defaults, through the same
  /// definition and the same checks. Throws Error: as value_at does; with all findings where the case is not sound with
  /// them, those about a value put in with its path and no line.
  CaseFile with(const std::vector<Override>& values) const;
  /// The same at begin or end of life, for every finish and cell at once, whatever the case says. Throws Error beside
  /// those: life_unknown, with every entry that has no values of that age.
  CaseFile with(const std::vector<Override>& values, bool end_of_life) const;

  /// What was read.
  const input::Document& document() const { return document_; }
  /// Another document with the same materials. Throws Error as the reading of a file does.
  CaseTemplate of(input::Document document) const;

 private:
  friend class CaseSeries;
  struct Text;
  CaseTemplate(Text text, const materials::Library& library);
  void find_factors(const materials::Library& library);
  CaseFile made(const std::vector<Override>& values, std::optional<bool> end_of_life) const;

  input::Document document_;
  materials::Library library_;
  CaseFile as_written_;
  std::vector<std::pair<std::string, UsedSource>> factors_;  ///< by path, with what the library says
};

}  // namespace tileflux::tile
