#pragma once
/// What physical quantities are called, for messages.

#include <string>

#include "tileflux/units/quantity.h"
#include "units/unit_database.h"

namespace tileflux::units {

/// `a length`, `a thermal conductivity`; without a name the base units: `kg2 m/s3`.
std::string name_of_powers(const Powers& powers);

}  // namespace tileflux::units
