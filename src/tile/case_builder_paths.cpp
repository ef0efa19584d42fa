/// The heat paths inside a tile: joins, cores, switches, infrared, heat pipes, phase-change stores.

#include <algorithm>

#include "tile/case_builder.h"
#include "tileflux/base/spelling.h"
#include "tileflux/network/heat_pipe.h"
#include "tileflux/network/honeycomb.h"
#include "tileflux/network/laws.h"

namespace tileflux::tile {

void CaseBuilder::build_joins() {
  for (const Record& record : record_.list("joins")) {
    Join join;
    std::tie(join.a, join.b) = between(record);
    join.conductance_W_per_K = record.quantity_if("conductance");
    const auto need = [&](const char* key, bool wanted, const char* why) {
      if (record.has(key) == wanted) return wanted;
      find(wanted ? Code::key_missing : Code::key_conflict, wanted ? record.place() : record.place(key),
           std::string("`") + key + "` " + why);
      return false;
    };
    if (record.has("switch")) {
      build_switch(record.section("switch"), join);
    } else if (record.has("conductance")) {
      need("area", false, "does not go with `conductance`, which states the whole path");
      need("length", false, "does not go with `conductance`, which states the whole path");
    } else if (record.has("contact")) {
      need("length", false, "does not go with `contact`");
      if (need("area", true, "must stand with `contact`"))
        join.conductance_W_per_K = record.quantity("contact") * record.quantity("area");
    } else {
      const bool core = record.has("core");
      const bool sized = need("area", true, "must stand with `material`") &&
                         (core || need("length", true, "or `core` must stand with `material`"));
      const materials::Solid* found = solid(record, "material");
      if (!sized || found == nullptr) continue;
      note_source(found->name, "conductivity", found->conductivity);
      join.material = found->name;
      const double area_m2 = record.quantity("area");
      join.bar_W_per_K = core ? build_core(record.section("core"), *found, area_m2, join)
                              : found->conductivity.table.scaled(area_m2 / record.quantity("length"));
    }
    case_.joins.push_back(std::move(join));
  }
}

void CaseBuilder::build_switch(const Record& record, Join& join) {
  const double open_K = record.quantity("open_below"), closed_K = record.quantity("closed_above");
  if (!(open_K < closed_K)) {
    find(Code::limits_contradict, record.place("closed_above"), "`closed_above` must lie above `open_below`");
    return;
  }
  join.switched_W_per_K = PropertyTable({open_K, closed_K}, {record.quantity("open"), record.quantity("closed")});
}

/// The foil as a bar; the cells add a radiation path of their own.
PropertyTable CaseBuilder::build_core(const Record& record, const materials::Solid& foil, double area_m2,
                                      const Join& join) {
  const double height_m = record.quantity("height"), cell_m = record.quantity("cell");
  try {
    const double effective = network::honeycomb_effective_emittance(record.quantity("emittance"), height_m, cell_m);
    case_.radiation.push_back({join.a, join.b, effective * area_m2});
    const double share = network::honeycomb_solid_share(record.quantity("foil"), cell_m);
    return foil.conductivity.table.scaled(share * area_m2 / height_m);
  } catch (const Error& error) {
    find(error.code(), record.place(), error.diagnostics().front().message);
    return foil.conductivity.table;
  }
}

void CaseBuilder::build_infrared() {
  for (const Record& record : record_.list("infrared")) {
    RadiationLink link;
    std::tie(link.a, link.b) = between(record);
    if (record.has("exchange_area")) {
      link.exchange_area_m2 = record.quantity("exchange_area");
    } else if (!record.has("area")) {
      find(Code::key_missing, record.place(), "`area` must stand beside `emittances` or `effective_emittance`");
    } else if (record.has("effective_emittance")) {
      link.exchange_area_m2 = record.quantity("effective_emittance") * record.quantity("area");
    } else {
      const std::vector<double>& emittances = record.quantities("emittances");
      link.exchange_area_m2 = network::parallel_exchange_area_m2(record.quantity("area"), emittances[0], emittances[1]);
    }
    case_.radiation.push_back(std::move(link));
  }
}

void CaseBuilder::build_pipes() {
  for (const auto& [name, record] : record_.by_name("heat_pipes")) {
    HeatPipe pipe;
    pipe.name = name;
    if (record.count("lost") > record.count("pipes")) {
      find(Code::count_out_of_bounds, record.place("lost"),
           "there are only " + std::to_string(record.count("pipes")) + " pipes");
      continue;
    }
    pipe.mounted = static_cast<int>(record.count("pipes"));
    pipe.pipes = static_cast<int>(record.count("pipes") - record.count("lost"));
    pipe.capacity_J_per_K = record.quantity_if("capacity");
    const Record& described = record;
    const auto ends = [&](const char* key, std::vector<PipeEnd>& into) {
      for (const Record& end : described.list(key)) {
        into.push_back({nodes_named(end, "on"), end.quantity("conductance")});
        check_path_end(into.back().node, end.place("on"));
      }
    };
    ends("evaporators", pipe.evaporators);
    ends("condensers", pipe.condensers);
    pipe.effective_length_m = record.quantity("effective_length");
    pipe.vapour_W_per_K = record.quantity("along");
    if (!build_transport(record, pipe)) continue;
    check_transport(record, pipe);
    case_.pipes.push_back(std::move(pipe));
  }
}

bool CaseBuilder::build_transport(const Record& record, HeatPipe& pipe) {
  std::vector<double> temperature_K, transport_W_m;
  if (record.has("transport")) {
    for (const std::vector<double>& row : record.table("transport")) {
      temperature_K.push_back(row[0]);
      transport_W_m.push_back(row[1]);
    }
    pipe.transport_W_m = PropertyTable(std::move(temperature_K), std::move(transport_W_m));
    return true;
  }
  const std::string& name = record.text("fluid");
  const materials::Fluid* fluid = library_.fluid(name);
  if (fluid == nullptr) {
    unknown_material(record, "fluid", "working fluid", library_.fluid_names());
    return false;
  }
  const std::vector<double>& stated = record.table("transport_at").front();
  const double merit = fluid->relative_merit.value(stated[0]);
  if (merit <= 0.0) {
    find(Code::value_out_of_range, record.place("transport_at"),
         "'" + name + "' carries nothing at this temperature: it is frozen or above its critical point");
    return false;
  }
  if (fluid->merit_source)
    note_source(name, "merit", *fluid->merit_source, fluid->merit.value(stated[0]), !fluid->merit.constant());
  if (fluid->liquid) note_source(name, "surface_tension", fluid->liquid->surface_tension);
  pipe.transport_W_m = fluid->relative_merit.scaled(stated[1] / merit);
  return true;
}

void CaseBuilder::check_transport(const Record& record, const HeatPipe& pipe) {
  try {
    const network::VapourTransport law =
        network::vapour_transport(pipe.pipes, pipe.transport_W_m, pipe.effective_length_m, pipe.vapour_W_per_K);
    const auto whole = [&](const std::vector<PipeEnd>& ends) {
      double sum_W_per_K = 0.0;
      for (const PipeEnd& end : ends) sum_W_per_K += pipe.pipes * end.conductance_W_per_K;
      return sum_W_per_K;
    };
    const double steepest_W_per_K = network::steepest_limit_W_per_K(law);
    const bool steep = std::min(whole(pipe.evaporators), whole(pipe.condensers)) < steepest_W_per_K;
    if (steep && !pipe.capacity_J_per_K && pipe.pipes > 0) {
      char text[192];
      std::snprintf(text, sizeof text,
                    "what the pipe carries changes by up to %.4g W/K, faster than evaporators or condensers conduct: "
                    "vapour without heat capacity would have no one temperature",
                    steepest_W_per_K);
      find(Code::value_out_of_range, record.place(), text, "state `capacity`, of one pipe with its fluid");
    }
  } catch (const Error& error) {
    const std::string key = record.has("transport") ? "transport" : "fluid";
    find(error.code(), record.place(key), error.diagnostics().front().message);
  }
}

void CaseBuilder::build_stores() {
  for (const auto& [name, record] : record_.by_name("stores")) {
    const std::string& medium_name = record.text("medium");
    const materials::Medium* medium = library_.medium(medium_name);
    if (medium == nullptr) {
      unknown_material(record, "medium", "medium", library_.medium_names());
      continue;
    }
    const double melt_K = medium->melting_temperature.value;
    Store store;
    store.name = name;
    store.node = node(record, "in");
    check_path_end(store.node, record.place("in"));
    store.material = medium_name;
    store.mass_kg = record.quantity("mass");
    store.area_m2 = record.quantity("area");
    store.thickness_m = record.quantity_if("thickness")
                            .value_or(store.mass_kg / (medium->solid.density.table.value(melt_K) * store.area_m2));
    store.contact_W_per_m2_K = record.quantity("contact");
    store.slices = static_cast<int>(record.count("slices"));
    store.solid_J_per_kg_K = medium->solid.heat_capacity.table.value(melt_K);
    store.liquid_J_per_kg_K = medium->liquid.heat_capacity.table.value(melt_K);
    store.latent_J_per_kg = medium->latent_heat.value;
    store.melt_K = melt_K;
    store.range_K = medium->melting_range_K();
    store.solid_W_per_m_K = medium->solid.conductivity.table.value(melt_K);
    store.liquid_W_per_m_K = medium->liquid.conductivity.table.value(melt_K);
    store.start_K = record.quantity_if("start");
    note_source(medium_name, "melting_temperature", medium->melting_temperature);
    note_source(medium_name, "latent_heat", medium->latent_heat);
    const auto note = [&](const materials::Phase& phase, const std::string& which) {
      note_source(medium_name, which + " heat_capacity", phase.heat_capacity);
      note_source(medium_name, which + " conductivity", phase.conductivity);
    };
    note(medium->solid, "solid");
    note(medium->liquid, "liquid");
    case_.stores.push_back(std::move(store));
  }
}

}  // namespace tileflux::tile
