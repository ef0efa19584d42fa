/// Battery, bus, heaters, failures and ageing of a case.

#include <algorithm>
#include <map>

#include "tile/case_builder.h"
#include "tileflux/base/spelling.h"

namespace tileflux::tile {

namespace {

template <class List>
std::vector<std::string> names_of(const List& list) {
  std::vector<std::string> names;
  for (const auto& one : list) names.push_back(one.name);
  return names;
}

}  // namespace

void CaseBuilder::build_battery() {
  if (!record_.has("battery")) return;
  const Record& record = record_.section("battery");
  if (!record_.has("cells")) find(Code::key_conflict, record.place(), "`battery` needs `cells` to charge it");
  const Record& charge = record.section("charge");
  const Record& discharge = record.section("discharge");
  const Record& round_trip = record.section("round_trip");
  Battery battery;
  battery.node = node(record, "on");
  devices::BatteryLaw& law = battery.law;
  law.capacity_J = record.quantity("capacity");
  law.resistance_loss_per_W =
      devices::resistance_loss_for(round_trip.quantity("efficiency"), round_trip.quantity("at"));
  law.self_discharge_per_s = record.quantity("self_discharge");
  law.most_charge_W = charge.quantity("most");
  law.full_percent = 100.0 * charge.quantity("full");
  law.taper_percent = 100.0 * charge.quantity("taper");
  law.charge_window = window(charge);
  law.most_discharge_W = discharge.quantity("most");
  law.derating_percent = 100.0 * discharge.quantity("derating");
  law.discharge_window = window(discharge);
  law.least_percent = std::max(0.0, law.full_percent - 100.0 * record.quantity("depth_of_discharge"));
  battery.start_percent = 100.0 * record.quantity("start");
  battery.feeds_lasers = record.flag("feeds_lasers");
  if (battery.start_percent < law.least_percent || battery.start_percent > law.full_percent)
    find(Code::value_out_of_range, record.place("start"),
         "the battery must start between what the depth of discharge leaves and full");
  if (std::max(law.most_charge_W, law.most_discharge_W) >= law.peak_charge_W())
    find(Code::value_out_of_range, round_trip.place(),
         "with losses like these a higher power would store less: lower the powers or the losses");
  case_.battery = std::move(battery);
}

devices::TemperatureWindow CaseBuilder::window(const Record& owner) {
  const std::vector<double>& between = owner.quantities("between");
  if (!(between[0] < between[1]))
    find(Code::table_not_rising, owner.place("between"), "the lower temperature must stand first");
  return {between[0], between[1]};
}

void CaseBuilder::build_bus() {
  static const std::map<std::string, devices::Consumer> words{{"housekeeping", devices::Consumer::housekeeping},
                                                              {"heaters", devices::Consumer::heaters},
                                                              {"lasers", devices::Consumer::lasers},
                                                              {"charging", devices::Consumer::charging}};
  if (!record_.has("bus")) return;
  const Record& record = record_.section("bus");
  const std::vector<std::string>& names = record.names("priorities");
  for (std::size_t i = 0; i < names.size(); ++i) {
    const auto found = words.find(names[i]);
    const bool twice = std::find(names.begin(), names.begin() + static_cast<std::ptrdiff_t>(i), names[i]) !=
                       names.begin() + static_cast<std::ptrdiff_t>(i);
    if (found == words.end() || twice) {
      find(twice ? Code::name_taken : Code::name_unknown, record.place("priorities", i),
           "priorities are housekeeping, heaters, lasers and charging, each once");
      continue;
    }
    case_.priorities[i] = found->second;
  }
  if (case_.cells && case_.cells->load_sharing == devices::LoadSharing::equal &&
      case_.priorities.back() != devices::Consumer::charging)
    find(Code::key_conflict, record.place("priorities"),
         "with `load_sharing: equal` the battery gets what the loads leave: `charging` must stand last");
}

void CaseBuilder::build_heaters() {
  for (const auto& [name, record] : record_.by_name("heaters")) {
    Heater heater;
    heater.name = name;
    heater.node = node(record, "on");
    heater.sensor = record.has("sensor") ? node(record, "sensor") : heater.node;
    heater.power_W = record.quantity("power");
    heater.on_below_K = record.quantity("on_below");
    heater.off_above_K = record.quantity("off_above");
    if (!(heater.on_below_K < heater.off_above_K))
      find(Code::limits_contradict, record.place("off_above"), "`off_above` must lie above `on_below`");
    if (record.has("rated_voltage")) {
      const bool known = record_.has("bus") && record_.section("bus").has("lowest_voltage");
      if (known) {
        const double share = record_.section("bus").quantity("lowest_voltage") / record.quantity("rated_voltage");
        heater.power_W *= share * share;
      } else {
        find(Code::key_missing, record.place("rated_voltage"), "`rated_voltage` needs `bus.lowest_voltage`");
      }
    }
    case_.heaters.push_back(std::move(heater));
  }
}

bool CaseBuilder::check_listed(const std::string& name, const Place& place, const std::vector<std::string>& known,
                               const char* kind) {
  if (std::find(known.begin(), known.end(), name) != known.end()) return true;
  const std::string nearest = nearest_spelling(name, known);
  find(Code::name_unknown, place, "'" + name + "' is no " + kind + " of this tile",
       nearest.empty() ? "" : "did you mean '" + nearest + "'?");
  return false;
}

/// Keys of a failure that say nothing about what it is.
void CaseBuilder::refuse_stray_keys(const Record& record) {
  static const std::map<std::string, std::vector<std::string>> known{
      {"dead_modules", {"of", "count"}}, {"lost_pipes", {"of", "count"}},
      {"stuck_tilt", {"tilt"}},          {"open_strings", {"share"}},
      {"stuck_heater", {"of", "state"}}, {"degraded_finish", {"of", "absorptance", "emittance"}}};
  const std::vector<std::string>& allowed = known.at(record.text("what"));
  for (const char* key : {"of", "count", "tilt", "share", "state", "absorptance", "emittance"}) {
    if (record.has(key) && std::find(allowed.begin(), allowed.end(), key) == allowed.end())
      find(Code::key_conflict, record.place(key),
           '`' + std::string(key) + "` does not go with `" + record.text("what") + '`');
  }
}

void CaseBuilder::build_failures() {
  static const std::map<std::string, Failure::What> words{
      {"dead_modules", Failure::What::dead_modules}, {"lost_pipes", Failure::What::lost_pipes},
      {"stuck_tilt", Failure::What::stuck_tilt},     {"open_strings", Failure::What::open_strings},
      {"stuck_heater", Failure::What::stuck_heater}, {"degraded_finish", Failure::What::degraded_finish}};
  for (const Record& record : record_.list("failures")) {
    Failure failure;
    failure.at_s = record.quantity("at");
    failure.what = words.at(record.text("what"));
    failure.absorptance = record.quantity_if("absorptance");
    failure.emittance = record.quantity_if("emittance");
    const auto need = [&](const char* key) {
      if (record.has(key)) return true;
      find(Code::key_missing, record.place("what"), "`" + record.text("what") + "` needs `" + key + "`");
      return false;
    };
    const auto one_of = [&](const std::vector<std::string>& known, const char* kind) {
      if (!need("of")) return;
      failure.where = record.text("of");
      check_listed(failure.where, record.place("of"), known, kind);
    };
    const auto count = [&](int there, const char* of) {
      if (!need("count")) return;
      failure.value = static_cast<double>(record.count("count"));
      if (record.count("count") > there)
        find(Code::count_out_of_bounds, record.place("count"), "there are only " + std::to_string(there) + ' ' + of);
    };
    const auto there = [&](const auto& list, const auto& number) {
      for (const auto& one : list) {
        if (one.name == failure.where) return number(one);
      }
      return 1'000'000;  // the name is told already
    };
    refuse_stray_keys(record);
    switch (failure.what) {
      case Failure::What::dead_modules:
        one_of(names_of(case_.lasers), "laser bank");
        count(there(case_.lasers, [](const Bank& bank) { return bank.mounted; }), "modules");
        break;
      case Failure::What::lost_pipes:
        one_of(names_of(case_.pipes), "heat pipe");
        count(there(case_.pipes, [](const HeatPipe& pipe) { return pipe.mounted; }), "pipes");
        break;
      case Failure::What::stuck_tilt:
        if (!need("tilt")) break;
        failure.value = record.quantity("tilt");
        if (case_.cells && case_.cells->pointing && !reaches(*case_.cells->pointing, failure.value))
          find(Code::value_out_of_range, record.place("tilt"), "`cells.pointing` does not reach this tilt");
        break;
      case Failure::What::open_strings:
        if (!case_.cells) find(Code::key_conflict, record.place("what"), "there are no cells whose strings could open");
        if (need("share")) failure.value = record.quantity("share");
        break;
      case Failure::What::stuck_heater:
        one_of(names_of(case_.heaters), "heater");
        if (need("state")) failure.value = record.text("state") == "on" ? 1.0 : 0.0;
        break;
      case Failure::What::degraded_finish:
        one_of(names_of(case_.surfaces), "surface");
        if (!failure.absorptance && !failure.emittance)
          find(Code::key_missing, record.place("what"), "`degraded_finish` needs `absorptance` or `emittance`");
        break;
    }
    case_.failures.push_back(std::move(failure));
  }
  std::stable_sort(case_.failures.begin(), case_.failures.end(),
                   [](const Failure& a, const Failure& b) { return a.at_s < b.at_s; });
}

void CaseBuilder::build_ageing() {
  if (!record_.has("ageing")) return;
  const Record& record = record_.section("ageing");
  Ageing ageing;
  ageing.update_s = record.quantity("update");
  ageing.step_s = record.quantity("step");
  const auto arrhenius = [](const Record& law) {
    return devices::ArrheniusLaw{law.quantity("activation") / electronvolt_J, law.quantity("at")};
  };
  if (record.has("cells")) {
    const Record& cells = record.section("cells");
    ageing.cells = devices::CellFading{cells.quantity("rate"), arrhenius(cells)};
  }
  if (record.has("radiation")) {
    const Record& radiation = record.section("radiation");
    ageing.radiation = devices::RadiationDamage{radiation.quantity("per_decade"), radiation.quantity("knee"),
                                                radiation.quantity("flux")};
  }
  if ((ageing.cells || ageing.radiation) && !case_.cells)
    find(Code::key_conflict, record.place(), "there are no cells that could age");
  for (const auto& [name, finish] : record.by_name("finishes")) {
    if (!check_listed(name, finish.place(), names_of(case_.surfaces), "surface")) continue;
    ageing.finishes.push_back({name, {finish.quantity("end"), finish.quantity("time_constant")}});
  }
  for (const auto& [name, diodes] : record.by_name("lasers")) {
    if (!check_listed(name, diodes.place(), names_of(case_.lasers), "laser bank")) continue;
    ageing.diodes.push_back({name, {diodes.quantity("rate"), arrhenius(diodes), diodes.quantity("drive_exponent")}});
  }
  case_.ageing = std::move(ageing);
}

}  // namespace tileflux::tile
