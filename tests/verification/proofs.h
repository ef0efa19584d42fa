#pragma once
/// What the page says beside its rows: how errors fall with grids and tolerances, and that wrong laws are refused.

#include <string>
#include <vector>

#include "verification/rows.h"

namespace tileflux::verification {

/// How far an answer lies from its reference at one grid or tolerance.
struct Refinement {
  std::string label;   ///< "20 slices"
  double step = 0.0;   ///< thickness of a slice, length of a segment, tolerance; only ratios count
  double error = 0.0;  ///< |got - reference|, relative to the scale that `what` names
};

/// A series of refinements with the order it must show.
struct Convergence {
  std::string what;
  std::string reference;  ///< row or closed form, with its source
  std::string through;
  std::vector<Refinement> refinements;
  double expected_order = 0.0;
  double within = 0.0;
  std::string why;  ///< what the expected order follows from
};
using Convergences = std::vector<Convergence>;

/// Slope of log(error) over log(step), least squares over all refinements.
double observed_order(const Convergence& series);

/// Expects three refinements or more, errors that fall, and the expected order.
void check_all(const Convergences& series);

/// One thing put wrong in a law, and what it gives then.
struct Fault {
  std::string what;
  double got = 0.0;
};

/// A law with a check that it passes and faults that the check must refuse.
struct Control {
  std::string law;
  std::string check;  ///< id of the row, or the closed form in words
  double expected = 0.0;
  double tolerance = 0.0;  ///< absolute, the check's own
  double right = 0.0;      ///< what the product gives with nothing put wrong
  std::vector<Fault> faults;
};
using Controls = std::vector<Control>;

/// A control by a row with one number.
Control by_row(const std::string& law, const std::string& id, double right, std::vector<Fault> faults);

/// A control by a closed form that is worked beside the law: `right` must meet it to a relative tolerance.
Control by_form(const std::string& law, const std::string& form, double expected, double right, std::vector<Fault> faults,
                double relative = 1e-9);

/// By how many of the check's tolerances a fault is off; endless if it is no number.
double refused_by(const Control& control, const Fault& fault);

/// A fault counts as refused if it is off by this many tolerances.
inline constexpr double clearly = 10.0;

/// Expects that every law passes its check and that every fault of it is refused clearly.
void check_all(const Controls& controls);

}  // namespace tileflux::verification
