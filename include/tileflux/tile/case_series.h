#pragma once
/// One case many times with other values at the same paths: what CaseTemplate::with makes, without reading the document
/// anew each time.

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "tileflux/tile/case_template.h"

namespace tileflux::tile {

/// Not for several threads at once: each takes its own, of the same template, which must outlive it.
class CaseSeries {
 public:
  /// Throws Error as CaseTemplate::value_at does for a path that leads to no quantity.
  CaseSeries(const CaseTemplate& cases, std::vector<std::string> paths);
  CaseSeries(CaseSeries&&) noexcept;
  CaseSeries& operator=(CaseSeries&&) noexcept;
  ~CaseSeries();

  /// The case with these values in SI units, one per path: equal to the description that CaseTemplate::with makes, and
  /// refused with the same errors. That a part can lose heat nowhere is not looked for.
  Case with(std::span<const double> values_si);

  /// What `size` looks at with these values. Throws Error as read_size_cases does.
  SizeCases sizes_with(std::span<const double> values_si) const;

 private:
  struct Prepared;
  std::vector<Override> overrides(std::span<const double> values_si) const;
  void prepare(std::span<const double> values_si);

  const CaseTemplate* cases_;
  std::vector<std::string> paths_;
  std::vector<input::Range> ranges_;
  std::unique_ptr<Prepared> prepared_;
  bool tried_ = false;
};

}  // namespace tileflux::tile
