#include "tileflux/tile/schedule.h"

#include <algorithm>
#include <cmath>

#include "tile/instant.h"

namespace tileflux::tile {

namespace {

/// Number of whole periods since the first edge, with a time just before an edge counted as on it.
double periods_before(const TimePattern& pattern, double time_s) {
  return std::floor((time_s + instant_s(time_s) - pattern.first_s) / pattern.every_s);
}

}  // namespace

bool is_on_after(const TimePattern& pattern, double time_s) {
  if (time_s + instant_s(time_s) < pattern.first_s) return false;
  if (pattern.on_s >= pattern.every_s) return true;
  const double begin_s = pattern.first_s + periods_before(pattern, time_s) * pattern.every_s;
  return time_s + instant_s(time_s) < begin_s + pattern.on_s;
}

double next_edge_after(const TimePattern& pattern, double time_s) {
  const double later_s = time_s + instant_s(time_s);
  if (later_s < pattern.first_s) return pattern.first_s;
  if (pattern.on_s >= pattern.every_s || pattern.on_s <= 0.0) return never_s;
  const double periods = periods_before(pattern, time_s);
  const double off_s = pattern.first_s + periods * pattern.every_s + pattern.on_s;
  return later_s < off_s ? off_s : pattern.first_s + (periods + 1.0) * pattern.every_s;
}

}  // namespace tileflux::tile
