#pragma once
/// From a case file to a Case: the definition of every key, and the reader that resolves names and materials.

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/input/definition.h"
#include "tileflux/input/record.h"
#include "tileflux/materials/library.h"
#include "tileflux/tile/case.h"

namespace tileflux::tile {

/// Every key of a case file. The reader, docs/case-reference.md and docs/case.schema.json come from this.
input::Section case_definition();

/// A property value that a case uses, with its pedigree.
struct UsedSource {
  std::string material;
  std::string property;
  std::string basis;  ///< published, transcribed, memory, or `case` for a value stated in the case itself
  std::string source;
  std::string uncertainty;
  double value_si = 0.0;       ///< at 20 degC where it is a table
  std::string_view unit = {};  ///< SI, as printed; empty: not known here
  bool table = false;          ///< over temperature
};

/// A case with what a person should know of how it was read.
struct CaseFile {
  Case description;
  std::string file;
  std::vector<input::FilledDefault> defaults;
  std::vector<Diagnostic> warnings;
  std::vector<UsedSource> sources;
  std::shared_ptr<const std::string> text;  ///< of the file as read, whatever was put in its place later
};

/// Reads a case file. Throws Error with *all* findings, in the order of the file, if any is an error.
CaseFile read_case(const std::string& file, const materials::Library& library);

/// The same from text; `file` is the name to be shown.
CaseFile read_case_text(std::string_view text, const std::string& file, const materials::Library& library);

/// What `size` looks at: a case as it stands, and the same case in its hot and its cold surroundings.
struct SizeCases {
  CaseFile file;
  Case hot;
  std::optional<Case> cold;
};

/// Reads a case file with `size`. Throws Error as read_case does; key_missing if the case has no `size`; life_unknown
/// where a finish or cell lacks the values of an age that is asked for.
SizeCases read_size_cases(const std::string& file, const materials::Library& library);
SizeCases read_size_cases_text(std::string_view text, const std::string& file, const materials::Library& library);

}  // namespace tileflux::tile
