#include "tileflux/network/melting.h"

#include "tileflux/base/errors.h"

namespace tileflux::network {

void MeltingLaw::check() const {
  if (!(solid_J_per_K > 0.0 && liquid_J_per_K > 0.0 && latent_J > 0.0))
    throw Error(Code::value_out_of_range, "heat capacities and latent heat of a melting part must be above zero");
  if (!(range_K > 0.0 && solidus_K() > 0.0))
    throw Error(Code::value_out_of_range, "the melting range must be wider than zero and lie above absolute zero");
}

}  // namespace tileflux::network
