/// Heat pipes: suction of the wick against gravity and the flow in it, figure of merit, effective length.
/// m = (2 sigma/r - rho g L sin tilt) rho K A/(mu L) (Chi 1976; Kreith, Manglik and Bohn, example 10.6); N = rho h sigma/mu.
/// Evaporator and condenser in series (HP-11): lumps_test.cpp.

#include "tileflux/network/heat_pipe.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "verification/groups.h"

namespace tileflux::verification::heat_pipes_test {

constexpr network::PipeLiquid water{.density_kg_per_m3 = 958.0, .viscosity_Pa_s = 279e-6, .surface_tension_N_per_m = 58.9e-3, .latent_J_per_kg = 2.26e6};
constexpr double length_m = 0.3;
/// Four layers of mesh, 45 um each, inside a tube of 10 mm.
constexpr network::Wick mesh{.area_m2 = std::numbers::pi * 0.010 * 4 * 45e-6, .permeability_m2 = 0.3e-10, .pore_radius_m = 20e-6};
/// Of a pipe at 30 degrees with its evaporator on top; the worked example takes 9.81 m/s2.
constexpr double gravity_Pa = 958.0 * 9.81 * length_m * 0.5;

Reproductions heat_pipe_limits() {
  return {
      {"HP-01", network::capillary_limit_W(water, mesh, length_m, gravity_Pa), "network::capillary_limit_W"},
      {"HP-01c", network::capillary_limit_W(water, mesh, length_m, gravity_Pa), "network::capillary_limit_W"},
      {"HP-01b", network::capillary_flow_kg_per_s(water, mesh, length_m, gravity_Pa), "network::capillary_flow_kg_per_s"},
      {"HP-01d", network::capillary_limit_W(water, mesh, length_m), "network::capillary_limit_W"},
      {"HP-10", network::effective_length_m(0.4, 0.6, 0.8), "network::effective_length_m"},
  };
}

TEST(HeatPipeLimits, AreThePublishedOnes) { check_all(heat_pipe_limits()); }

TEST(HeatPipeLimits, AreRefusedWithGravityTheOtherWayOrWholeLengths) {
  expect_refused("HP-01", network::capillary_limit_W(water, mesh, length_m, -gravity_Pa));
  expect_refused("HP-01d", network::capillary_limit_W(water, mesh, length_m, gravity_Pa));
  expect_refused("HP-10", 0.4 + 0.6 + 0.8);
}

}  // namespace tileflux::verification::heat_pipes_test
