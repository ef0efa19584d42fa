#include "tileflux/tile/failure.h"

#include <algorithm>
#include <utility>

#include "tileflux/base/errors.h"

namespace tileflux::tile {

namespace {

template <class List>
auto& named(List& list, const std::string& name, const char* kind) {
  const auto found = std::find_if(list.begin(), list.end(), [&](const auto& one) { return one.name == name; });
  if (found == list.end())
    throw Error(Code::name_unknown,
                std::string("a failure refers to the ") + kind + " '" + name + "', which is not described");
  return *found;
}

int count_left(int there, double lost) { return std::max(0, there - static_cast<int>(lost)); }

}  // namespace

std::string_view name_of(Failure::What what) {
  switch (what) {
    case Failure::What::dead_modules:
      return "dead_modules";
    case Failure::What::lost_pipes:
      return "lost_pipes";
    case Failure::What::stuck_tilt:
      return "stuck_tilt";
    case Failure::What::open_strings:
      return "open_strings";
    case Failure::What::stuck_heater:
      return "stuck_heater";
    case Failure::What::degraded_finish:
      return "degraded_finish";
  }
  return "";
}

void fail(Case& description, const Failure& failure) {
  switch (failure.what) {
    case Failure::What::dead_modules: {
      Bank& bank = named(description.lasers, failure.where, "laser");
      bank.mounted = std::max(bank.mounted, bank.devices.modules);
      bank.devices.modules = count_left(bank.devices.modules, failure.value * bank.in_series);
      return;
    }
    case Failure::What::lost_pipes: {
      HeatPipe& pipe = named(description.pipes, failure.where, "heat pipe");
      pipe.mounted = std::max(pipe.mounted, pipe.pipes);
      pipe.pipes = count_left(pipe.pipes, failure.value);
      return;
    }
    case Failure::What::stuck_tilt:
      description.sun.tilt_rad = failure.value;
      description.tilt_law = TiltLaw::fixed;
      description.hold.reset();
      description.stow.clear();
      if (description.course) description.course->tilt_rad.clear();
      if (description.orbit) description.orbit->attitude = Orbit::Attitude::sun;
      return;
    case Failure::What::open_strings:
      if (!description.cells) throw Error(Code::key_missing, "a failure of cells needs cells");
      description.cells->packing *= 1.0 - failure.value;
      return;
    case Failure::What::stuck_heater:
      named(description.heaters, failure.where, "heater").stuck = failure.value > 0.0;
      return;
    case Failure::What::degraded_finish: {
      Surface& surface = named(description.surfaces, failure.where, "surface");
      if (failure.absorptance) surface.absorptance = *failure.absorptance;
      if (failure.emittance) surface.emittance = *failure.emittance;
      if (failure.emittance) surface.emittance_over_K.reset();
      return;
    }
  }
}

Case after_failures(Case description, double time_s) {
  std::vector<Failure> failures = std::exchange(description.failures, {});
  for (Failure& failure : failures) {
    if (failure.at_s <= time_s) {
      fail(description, failure);
    } else {
      description.failures.push_back(std::move(failure));
    }
  }
  return description;
}

}  // namespace tileflux::tile
