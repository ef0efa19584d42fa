#pragma once
/// What differs between two case files, and cases that lie between them.

#include <map>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "tileflux/tile/case_template.h"

namespace tileflux::tile {

/// One difference of two case files. Values that mean the same in other units, or are stated in one and the default of
/// the other, are none.
struct CaseDifference {
  enum class Kind {
    value,   ///< a quantity that both have
    words,   ///< a name, a choice, a list, an item of a list that is something else
    only_a,  ///< a key or an entry that the second case has not
    only_b
  };
  Kind kind = Kind::value;
  std::string path;
  units::Dimension dimension;       ///< of a value
  double a_si = 0.0, b_si = 0.0;    ///< of a value
  std::string a_text, b_text;       ///< what stands there, in brief; empty where nothing does
  bool of_a_study = false;          ///< says what is asked, not what the tile is
};

/// Two case files read with one library.
class CasePair {
 public:
  /// The templates must outlive the pair.
  CasePair(const CaseTemplate& a, const CaseTemplate& b);
  ~CasePair();

  const CaseTemplate& a() const { return a_; }
  const CaseTemplate& b() const { return b_; }
  /// Those of the tile in the order of the case, values before the rest; then those of studies.
  const std::vector<CaseDifference>& differences() const { return differences_; }
  /// Properties of the library, as `material.property`, that the case uses and the other does not.
  const std::vector<std::string>& only_a_uses() const { return only_a_uses_; }
  const std::vector<std::string>& only_b_uses() const { return only_b_uses_; }

  /// Case A with every difference taken over from B by its share: values on the straight line, all else where its share
  /// is 1. Shares stand in the order of differences(). Throws Error as CaseTemplate::with does where that is no sound
  /// case. Calls must not run side by side.
  CaseFile between(std::span<const double> shares) const;

 private:
  struct Edit;
  class Search;
  const CaseTemplate& taken_over(const std::vector<bool>& from_b) const;

  const CaseTemplate& a_;
  const CaseTemplate& b_;
  std::vector<CaseDifference> differences_;
  std::vector<Edit> edits_;  ///< how each difference is taken over
  std::vector<std::string> only_a_uses_, only_b_uses_;
  mutable std::map<std::vector<bool>, std::unique_ptr<CaseTemplate>> templates_;
};

}  // namespace tileflux::tile
