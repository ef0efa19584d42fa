#pragma once
/// A diode and the table of a data sheet, invented, for tests.

#include "tileflux/devices/laser.h"

namespace tileflux::test {

inline devices::DiodeLaw sample_diode() {
  return {.rated_current_A = 27.0, .threshold_A = 0.9, .threshold_T0_K = 130.0, .slope_W_per_A = 1.08, .slope_T1_K = 500.0,
          .reference_K = 298.15, .turn_on_V = 1.38, .series_resistance_ohm = 0.009};
}

inline devices::EfficiencyLaw sample_data_sheet() {
  return {.rated_input_W = 40.0, .junction_K = {290.0, 330.0}, .drive = {0.2, 0.6, 1.0},
          .efficiency = {0.30, 0.50, 0.48, 0.26, 0.44, 0.40}};
}

}  // namespace tileflux::test
