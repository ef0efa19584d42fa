#pragma once
/// What a case becomes when something in it breaks. Nodes and paths stay, so that a state carries over.

#include <string_view>

#include "tileflux/tile/case.h"

namespace tileflux::tile {

/// The word of the case file: dead_modules, lost_pipes, stuck_tilt, open_strings, stuck_heater, degraded_finish.
std::string_view name_of(Failure::What what);

/// Applies one failure. Throws Error(name_unknown) if it refers to something that is not described.
void fail(Case& description, const Failure& failure);

/// The case after its failures up to and including a time; what happened is off its list of failures.
Case after_failures(Case description, double time_s);

}  // namespace tileflux::tile
