#pragma once
/// The groups of reproduced rows. Each function runs the product anew; each is checked by tests in the file of its name.

#include "verification/rows.h"

namespace tileflux::verification {

Reproductions sunlight();             // sun_test.cpp
Reproductions plates_in_the_sun();
Reproductions spheres();
Reproductions selective_surfaces();

Reproductions cooling_by_radiation();  // lumps_test.cpp
Reproductions lumps_in_air();
Reproductions panel_in_an_oven();
Reproductions steady_chains();
Reproductions orbit_node();

Reproductions two_nodes();            // ladders_test.cpp
Reproductions ladders();
Reproductions wavy_sink();

Reproductions plane_walls();          // walls_test.cpp
Reproductions cylinders();
Reproductions spheres_that_cool();
Reproductions fixed_faces();

Reproductions thick_bodies();         // thick_bodies_test.cpp
Reproductions error_function();
Reproductions radiating_slab();

Reproductions black_enclosures();     // enclosures_test.cpp
Reproductions grey_enclosures();
Reproductions shields();
Reproductions cryogenic_lines();

Reproductions rectangle_factors();    // view_factors_test.cpp
Reproductions round_factors();
Reproductions strip_factors();

Reproductions planet_factors();       // orbits_test.cpp
Reproductions planet_fluxes();
Reproductions orbits();
Reproductions sun_and_orbit();
Reproductions eclipses();

Reproductions spectra();              // spectra_test.cpp

Reproductions fins_at_zero();         // fins_test.cpp
Reproductions fins_in_surroundings();
Reproductions worked_fins();

Reproductions cell_laws();            // cells_and_lasers_test.cpp
Reproductions arrays_in_the_sun();
Reproductions diode_laws();
Reproductions converters();

Reproductions batteries();            // devices_test.cpp
Reproductions amplifiers();
Reproductions ageing();
Reproductions cell_curves();

Reproductions melting_fronts();        // melting_test.cpp
Reproductions melting_lumps();
ClosedForms melting_references();

Reproductions heat_pipe_limits();      // heat_pipes_test.cpp

Reproductions stiff_problems();       // stiff_test.cpp
Reproductions transistor_amplifier();

Reproductions solids_library();       // library_test.cpp
Reproductions surfaces_library();
Reproductions media_library();

ClosedForms tile_references();        // tile_test.cpp
ClosedForms duty_references();        // duty_test.cpp
ClosedForms sized_radiators();        // radiator_test.cpp
ClosedForms sweeps();                 // sweep_test.cpp

Reproductions margin_policies();      // margins_test.cpp
ClosedForms margin_references();

}  // namespace tileflux::verification
