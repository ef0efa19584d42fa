#pragma once
/// The groups of reproduced rows. Each function runs the product anew; each is checked by tests in the file that its
/// namespace is named after.

#include "verification/proofs.h"
#include "verification/rows.h"

namespace tileflux::verification {

namespace sun_test {
Reproductions sunlight();
Reproductions plates_in_the_sun();
Reproductions spheres();
Reproductions selective_surfaces();
}  // namespace sun_test

namespace lumps_test {
Reproductions cooling_by_radiation();
Reproductions lumps_in_air();
Reproductions panel_in_an_oven();
Reproductions steady_chains();
Reproductions orbit_node();
Convergences tolerances_in_time();
}  // namespace lumps_test

namespace ladders_test {
Reproductions two_nodes();
Reproductions ladders();
Reproductions wavy_sink();
}  // namespace ladders_test

namespace walls_test {
Reproductions plane_walls();
Reproductions cylinders();
Reproductions spheres_that_cool();
Reproductions fixed_faces();
Convergences slices_of_layers();
}  // namespace walls_test

namespace thick_bodies_test {
Reproductions thick_bodies();
Reproductions error_function();
Reproductions radiating_slab();
Convergences slices_of_a_radiating_slab();
}  // namespace thick_bodies_test

namespace enclosures_test {
Reproductions black_enclosures();
Reproductions grey_enclosures();
Reproductions shields();
Reproductions cryogenic_lines();
}  // namespace enclosures_test

namespace view_factors_test {
Reproductions rectangle_factors();
Reproductions round_factors();
Reproductions strip_factors();
}  // namespace view_factors_test

namespace orbits_test {
Reproductions planet_factors();
Reproductions planet_fluxes();
Reproductions orbits();
Reproductions sun_and_orbit();
Reproductions eclipses();
}  // namespace orbits_test

namespace spectra_test {
Reproductions spectra();
}

namespace fins_test {
Reproductions fins_at_zero();
Reproductions fins_in_surroundings();
Reproductions worked_fins();
Convergences segments_of_fins();
}  // namespace fins_test

namespace cells_and_lasers_test {
Reproductions cell_laws();
Reproductions arrays_in_the_sun();
Reproductions diode_laws();
Reproductions converters();
}  // namespace cells_and_lasers_test

namespace devices_test {
Reproductions batteries();
Reproductions amplifiers();
Reproductions ageing();
Reproductions cell_curves();
}  // namespace devices_test

namespace melting_test {
Reproductions melting_fronts();
Reproductions melting_lumps();
ClosedForms melting_references();
Convergences slices_of_stores();
}  // namespace melting_test

namespace heat_pipes_test {
Reproductions heat_pipe_limits();
}

namespace stiff_test {
Reproductions stiff_problems();
Reproductions transistor_amplifier();
}  // namespace stiff_test

namespace library_test {
Reproductions solids_library();
Reproductions surfaces_library();
Reproductions media_library();
}  // namespace library_test

namespace tile_test {
ClosedForms tile_references();
}

namespace duty_test {
ClosedForms duty_references();
}

namespace radiator_test {
ClosedForms sized_radiators();
}

namespace sweep_test {
ClosedForms sweeps();
}

namespace margins_test {
Reproductions margin_policies();
ClosedForms margin_references();
}  // namespace margins_test

/// Laws with something put wrong: heat paths, surfaces and sunlight of a tile; orbits, devices, ageing and what is asked of them;
/// limits, failures, timetables; what moves in the sky.
namespace path_controls_test {
Controls controls();
}
namespace device_controls_test {
Controls controls();
}
namespace study_controls_test {
Controls controls();
}
namespace sky_controls_test {
Controls controls();
}

}  // namespace tileflux::verification
