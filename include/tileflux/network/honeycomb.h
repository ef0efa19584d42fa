#pragma once
/// Honeycomb core between two face sheets: heat through its foil and across its empty cells.
///
/// Through the core (not along it) the foil is a bar of area `ratio x area` and length `height`: network::Conduction.
/// The cells radiate: network::RadiationExchange with `effective emittance x area` between the face sheets.

namespace tileflux::network {

/// Share of a cross-section that is foil, for regular hexagons of an expanded core: of the six walls of a cell two are
/// bonded and double. 8 t / (3 s), with the foil's thickness t and the size s of a cell between opposite walls; thin
/// foil. Throws Error(value_out_of_range) if a length is not above zero or the foil would fill the cell.
double honeycomb_solid_share(double foil_m, double cell_m);

/// Effective emittance for radiation through the cells, q = sigma e A (T1^4 - T2^4):
/// e = 0.664 (h + 0.3)^-0.69 eps^(1.63 (h + 1)^-0.89), h = core height / cell size, eps the emittance of foil and face
/// sheets. Correlation of Swann & Pittman 1961 (NASA TN D-714), written down from memory and checked for black cells
/// against the exact transmission of a tube with re-radiating walls: within 10 % for h from 1 to 5. Measurements on
/// bonded cores lie 17 to 61 % off it (Daryabeigi 2001, AIAA 2001-2825): glue at the face sheets is not in it.
/// Throws Error(value_out_of_range) outside 0.5 <= h <= 10 or 0 < eps <= 1.
double honeycomb_effective_emittance(double emittance, double height_m, double cell_m);

}  // namespace tileflux::network
