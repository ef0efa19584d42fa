#include "tileflux/network/fin.h"

#include <boost/math/quadrature/gauss.hpp>
#include <boost/math/tools/toms748_solve.hpp>

namespace tileflux::network {

const FinQuadrature& FinQuadrature::instance() {
  static const FinQuadrature quadrature = [] {
    using Rule = boost::math::quadrature::gauss<double, points>;
    FinQuadrature made{};
    for (std::size_t i = 0; i < points / 2; ++i) {
      made.node[2 * i] = 0.5 * (1.0 - Rule::abscissa()[i]);
      made.node[2 * i + 1] = 0.5 * (1.0 + Rule::abscissa()[i]);
      made.weight[2 * i] = made.weight[2 * i + 1] = 0.5 * Rule::weights()[i];
    }
    return made;
  }();
  return quadrature;
}

double fin_tip_ratio(double zeta, double sink_fourth_ratio) {
  const double sink = std::sqrt(std::sqrt(sink_fourth_ratio));
  const auto defect = [&](double tip) { return fin_length_defect(tip, zeta, sink_fourth_ratio); };
  // Between sink and base: at the base's temperature the fin has no length, towards the sink's it has no end.
  constexpr double hair = 1e-13;
  const double near_base = 1.0 + (sink - 1.0) * hair;
  double near_sink = sink + (1.0 - sink) * hair;
  if (!(sink_fourth_ratio > 0.0)) near_sink = 1e-9;
  // A fin as long as this has a tip as cold as its surroundings, and draws what an endless one draws.
  if (defect(near_sink) < 0.0) return sink;
  std::uintmax_t steps = 100;
  const auto bracket =
      boost::math::tools::toms748_solve(defect, std::min(near_sink, near_base), std::max(near_sink, near_base),
                                        boost::math::tools::eps_tolerance<double>(50), steps);
  return 0.5 * (bracket.first + bracket.second);
}

}  // namespace tileflux::network
