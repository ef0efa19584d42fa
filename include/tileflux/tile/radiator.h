#pragma once
/// A surface of a case seen as a radiator that can be given another size.

#include "tileflux/network/fin.h"
#include "tileflux/tile/case.h"

namespace tileflux::tile {

/// What is chosen when a radiator is sized. Without a fin, thickness and pitch are zero and mean nothing.
struct RadiatorDesign {
  double area_m2 = 0.0;  ///< of one face
  int faces = 1;
  double thickness_m = 0.0;
  double pitch_m = 0.0;  ///< between two pipes: twice the length of the fin from root to tip
};

RadiatorDesign design_of(const Surface& surface);

/// The same surface with another design: conduction and heat capacity of the sheet follow its thickness.
Surface resized(Surface surface, const RadiatorDesign& design);

/// The temperature at which the surface by itself neither gains nor loses heat: eps F sigma Ts^4 (all faces) = absorbed
/// sunlight + eps F sigma T_space^4. It belongs to this surface with its own absorptance and emittance, holds the
/// sunlight already, and goes with no other. Zero where the surface emits nothing. A louvre counts as open.
double sink_temperature_K(const Case& description, const Surface& surface);

/// The exact fin that a surface with a fin stands for in a case's sunlight.
network::RadiatingFin fin_law(const Case& description, const Surface& surface);

}  // namespace tileflux::tile
