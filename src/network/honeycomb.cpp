#include "tileflux/network/honeycomb.h"

#include <cmath>

#include "tileflux/base/errors.h"

namespace tileflux::network {

double honeycomb_solid_share(double foil_m, double cell_m) {
  const double share = 8.0 * foil_m / (3.0 * cell_m);
  if (!(foil_m > 0.0 && cell_m > 0.0 && share < 1.0))
    throw Error(Code::value_out_of_range,
                "foil and cells of a honeycomb need sizes, and the foil must leave the cells open");
  return share;
}

double honeycomb_effective_emittance(double emittance, double height_m, double cell_m) {
  constexpr double flattest = 0.5, deepest = 10.0;
  const double slenderness = height_m / cell_m;
  if (!(slenderness >= flattest && slenderness <= deepest))
    throw Error(Code::value_out_of_range,
                "radiation through a honeycomb is known for cores 0.5 to 10 times as high as a cell is wide");
  if (!(emittance > 0.0 && emittance <= 1.0))
    throw Error(Code::value_out_of_range, "an emittance lies above 0 and not above 1");
  return 0.664 * std::pow(slenderness + 0.3, -0.69) * std::pow(emittance, 1.63 * std::pow(slenderness + 1.0, -0.89));
}

}  // namespace tileflux::network
