/// The power chain of a case: cells, conditioning, housekeeping, lasers, optics.

#include <algorithm>
#include <numbers>

#include "tile/case_builder.h"
#include "tileflux/base/spelling.h"

namespace tileflux::tile {

/// Whether a table of factors over tilt speaks of a tilt: beyond a last row of zero it is zero.
bool CaseBuilder::reaches(const PropertyTable& pointing, double tilt_rad) {
  const bool ends_at_zero = pointing.values().back() == 0.0;
  return tilt_rad >= pointing.valid_from_K() && (tilt_rad <= pointing.valid_to_K() || ends_at_zero);
}

void CaseBuilder::build_cells() {
  if (!record_.has("cells")) return;
  const Record& record = record_.section("cells");
  Cells cells;
  cells.surface = record.text("surface");
  cells.node = nodes_named(record, "on");
  cells.packing = record.quantity("packing");
  cells.intensity_slope = record.quantity("intensity_slope");
  cells.reference_irradiance_W_per_m2 = record.quantity("reference_irradiance");
  if (record.has("pointing")) {
    std::vector<double> tilt_rad, factor;
    for (const std::vector<double>& row : record.table("pointing")) {
      tilt_rad.push_back(row[0]);
      factor.push_back(row[1]);
    }
    cells.pointing = PropertyTable(std::move(tilt_rad), std::move(factor));
    // Whatever turns may turn as far as edge-on, where the rear begins.
    const bool turns = case_.hold || (case_.course && !case_.course->tilt_rad.empty()) || !case_.stow.empty() ||
                       case_.tilt_law == TiltLaw::fixed_in_space ||
                       (case_.orbit && case_.orbit->attitude != Orbit::Attitude::sun);
    constexpr double edge_on_rad = 0.5 * std::numbers::pi;
    const double most_rad = case_.hold ? case_.hold->most_tilt_rad : turns ? edge_on_rad : case_.sun.tilt_rad;
    const bool dark = cells.pointing->values().back() == 0.0 || case_.sun.tilt_rad >= edge_on_rad;
    if (!dark && !reaches(*cells.pointing, most_rad)) {
      find(Code::value_out_of_range, record.place("pointing"), "the table does not reach the tilt of the case");
      cells.pointing.reset();
    }
  }
  if (record.has("type")) {
    const std::string& type = record.text("type");
    const materials::CellType* found = library_.cell(type);
    if (found == nullptr) {
      const std::string nearest = nearest_spelling(type, library_.cell_names());
      find(Code::name_unknown, record.place("type"), "no cell type named '" + type + "' is known",
           nearest.empty() ? "see `tileflux materials` for the names" : "did you mean '" + nearest + "'?");
      return;
    }
    if (case_.end_of_life && !found->remaining) {
      find(Code::life_unknown, record.place("type"),
           "'" + type + "' has begin-of-life values only, and " + who_says_end_,
           "give the case an entry of its own with `end_of_life`, or ask for begin of life");
      return;
    }
    note_source(type, "efficiency", found->efficiency);
    note_source(type, "slope", found->slope);
    cells.efficiency = found->efficiency.table.value(293.15);
    cells.reference_K = found->reference_temperature.table.value(293.15);
    cells.slope_per_K = found->slope.table.value(293.15);
    if (case_.end_of_life) {
      note_source(type, "remaining", *found->remaining);
      cells.remaining = found->remaining->table.value(293.15);
    }
  } else {
    cells.efficiency = record.quantity("efficiency");
    cells.slope_per_K = record.quantity("slope");
    if (cells.slope_per_K > 0.0)
      find(Code::value_out_of_range, record.place("slope"),
           "a positive slope: the efficiency of cells normally falls as they warm", "is a minus sign missing?",
           Severity::warning);
    cells.reference_K = record.quantity("at");
    if (case_.end_of_life) {
      if (!record.has("remaining")) {
        find(Code::life_unknown, record.place("efficiency"), who_says_end_ + ": state `remaining` beside `efficiency`");
      } else {
        cells.remaining = record.quantity("remaining");
      }
    }
  }
  if (record.text("load_sharing") == "equal") cells.load_sharing = devices::LoadSharing::equal;
  if (record.text("undrawn") == "goes_to_shunt") {
    if (record.has("shunt")) {
      cells.shunt_node = node(record, "shunt");
    } else {
      find(Code::key_missing, record.place("undrawn"),
           "`undrawn: goes_to_shunt` needs `shunt`, the node that takes it");
    }
  } else if (record.has("shunt")) {
    find(Code::key_conflict, record.place("shunt"), "`shunt` goes with `undrawn: goes_to_shunt` only");
  }

  const auto surface = std::find_if(case_.surfaces.begin(), case_.surfaces.end(),
                                    [&](const Surface& s) { return s.name == cells.surface; });
  if (surface == case_.surfaces.end()) {
    std::vector<std::string> names;
    for (const Surface& s : case_.surfaces) names.push_back(s.name);
    check_listed(cells.surface, record.place("surface"), names, "surface");
  } else if (surface->front_m2() <= 0.0) {
    find(Code::key_conflict, record.place("surface"),
         "the surface '" + cells.surface + "' is not sunlit: cells there give nothing");
  } else if (cells.efficiency * cells.packing * cells.remaining > surface->absorptance) {
    find(Code::electricity_exceeds_sunlight, record.place(),
         "efficiency x packing exceeds the absorptance of '" + cells.surface + "'");
  }
  case_.cells = std::move(cells);
}

void CaseBuilder::build_chain() {
  if (record_.has("conditioning")) {
    const Record& record = record_.section("conditioning");
    Conditioning conditioning{node(record, "on"), record.quantity("standby"), record.quantity("proportional"), 0.0};
    if (record.has("full_load")) {
      const Record& full = record.section("full_load");
      const double power_W = full.quantity("power");
      const double rest_W =
          full.quantity("loss") * power_W - conditioning.standby_W - conditioning.proportional * power_W;
      if (rest_W < 0.0) {
        find(Code::value_out_of_range, full.place("loss"),
             "the loss at full load is less than standby and proportional loss together");
      } else {
        conditioning.quadratic_per_W = rest_W / (power_W * power_W);
      }
    }
    case_.conditioning = std::move(conditioning);
  }
  if (record_.has("housekeeping")) {
    const Record& record = record_.section("housekeeping");
    case_.housekeeping = Housekeeping{node(record, "on"), record.quantity("power")};
  }
  if (record_.has("optics")) {
    const Record& record = record_.section("optics");
    case_.optics = Optics{node(record, "on"), record.quantity("transmission")};
  }
  for (const char* key : {"conditioning", "lasers", "optics"}) {
    if (record_.has(key) && !record_.has("cells"))
      find(Code::key_conflict, record_.place(key), std::string("`") + key + "` needs `cells` to feed it");
  }
}

devices::EfficiencyLaw CaseBuilder::efficiency_law(const Record& table) {
  devices::EfficiencyLaw law;
  law.rated_input_W = table.quantity("rated_input");
  if (table.has("efficiency")) {
    law.junction_K = {298.15};
    law.drive = {1.0};
    law.efficiency = {table.quantity("efficiency")};
    return law;
  }
  const auto& rows = table.table("rows");
  for (const auto& row : rows) {
    if (law.junction_K.empty() || row[0] != law.junction_K.back()) law.junction_K.push_back(row[0]);
  }
  for (std::size_t i = 0; i < rows.size() && rows[i][0] == rows[0][0]; ++i) law.drive.push_back(rows[i][1]);
  const auto rises = [](const std::vector<double>& axis) {
    return std::is_sorted(axis.begin(), axis.end(), std::less_equal<>());
  };
  if (!rises(law.junction_K) || !rises(law.drive)) {
    find(Code::table_not_rising, table.place("rows"),
         "junction temperatures must rise, and drives within each temperature too");
    return law;
  }
  bool grid = rows.size() == law.junction_K.size() * law.drive.size();
  for (std::size_t i = 0; grid && i < rows.size(); ++i) {
    grid = rows[i][0] == law.junction_K[i / law.drive.size()] && rows[i][1] == law.drive[i % law.drive.size()];
    law.efficiency.push_back(rows[i][2]);
  }
  if (!grid)
    find(Code::table_shape, table.place("rows"),
         "the rows must form a full grid: the same drives for every junction temperature");
  return law;
}

void CaseBuilder::build_lasers() {
  for (const auto& [name, record] : record_.by_name("lasers")) {
    Bank bank;
    bank.name = name;
    bank.mount = node(record, "mount");
    check_path_end(bank.mount, record.place("mount"));
    bank.resistance_K_per_W = record.quantity("resistance");
    bank.capacity_J_per_K = record.quantity_if("junction_capacity");
    if (record.count("dead") > record.count("modules"))
      find(Code::count_out_of_bounds, record.place("dead"),
           "there are only " + std::to_string(record.count("modules")) + " modules");
    bank.mounted = static_cast<int>(record.count("modules"));
    bank.in_series = static_cast<int>(record.count("in_series"));
    if (record.count("modules") % record.count("in_series") != 0)
      find(Code::count_out_of_bounds, record.place("in_series"), "the modules do not make up whole strings");
    const long lost = record.count("dead") * record.count("in_series");
    bank.devices.modules = static_cast<int>(std::max(0L, record.count("modules") - lost));
    bank.devices.light_factor = record.quantity("light_factor");
    if (record.has("driver")) build_driver(record.section("driver"), bank);
    if (record.has("amplifier")) build_amplifier(record.section("amplifier"), bank);
    if (record.has("diode")) {
      const Record& diode = record.section("diode");
      const devices::DiodeLaw law{diode.quantity("rated_current"), diode.quantity("threshold"),
                                  diode.quantity("threshold_T0"),  diode.quantity("slope"),
                                  diode.quantity("slope_T1"),      diode.quantity("at"),
                                  diode.quantity("turn_on"),       diode.quantity("series_resistance")};
      if (law.slope_W_per_A > law.turn_on_V) {
        find(Code::value_out_of_range, diode.place("slope"),
             "a slope above the turn-on voltage would give more light than electricity");
      }
      if (law.rated_current_A <= law.threshold_A) {
        find(Code::value_out_of_range, diode.place("rated_current"),
             "the rated current is not above the threshold: no light");
      }
      bank.devices.law = law;
      const std::vector<double>& valid = diode.quantities("valid");
      if (!(valid[0] < valid[1]))
        find(Code::table_not_rising, diode.place("valid"), "the lower temperature must stand first");
      bank.valid_from_K = valid[0];
      bank.valid_to_K = valid[1];
    } else {
      const devices::EfficiencyLaw law = efficiency_law(record.section("table"));
      if (law.junction_K.size() > 1) {
        bank.valid_from_K = law.junction_K.front();
        bank.valid_to_K = law.junction_K.back();
      }
      bank.devices.law = law;
    }
    case_.lasers.push_back(std::move(bank));
  }
}

void CaseBuilder::build_driver(const Record& record, Bank& bank) {
  bank.devices.driver_loss = record.quantity("loss");
  if (record.has("on")) {
    bank.driver = node(record, "on");
  } else if (!record_.has("conditioning")) {
    find(Code::key_missing, record.place(), "without `conditioning` the driver must say `on`, the node that it heats");
  }
}

void CaseBuilder::build_amplifier(const Record& record, Bank& bank) {
  constexpr double nm_per_m = 1e9;
  devices::FibreAmplifierLaw law;
  bank.fibre = node(record, "on");
  bank.unabsorbed = node(record, "unabsorbed_in");
  law.pump_nm = nm_per_m * record.quantity("pump");
  law.reference_K = record.quantity("at");
  law.shift_nm_per_K = nm_per_m * record.quantity("shift");
  law.length_m = record.quantity("length");
  law.signal_nm = nm_per_m * record.quantity("signal");
  law.slope_efficiency = record.quantity("efficiency");
  law.threshold_W = record.quantity("threshold");
  std::vector<double> wavelength_nm, absorption_per_m;
  for (const std::vector<double>& row : record.table("absorption")) {
    wavelength_nm.push_back(nm_per_m * row[0]);
    absorption_per_m.push_back(row[1]);
  }
  law.absorption_per_m = PropertyTable(std::move(wavelength_nm), std::move(absorption_per_m));
  if (!law.absorption_per_m.covers(law.pump_nm))
    find(Code::value_out_of_range, record.place("pump"), "the table of `absorption` does not reach this wavelength");
  if (law.slope_efficiency > law.pump_nm / law.signal_nm)
    find(Code::value_out_of_range, record.place("efficiency"),
         "more light than one photon for one: at most the pump's wavelength over the light's");
  bank.devices.amplifier = std::move(law);
}

}  // namespace tileflux::tile
