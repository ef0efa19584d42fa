/// Negative controls of what a case asks for and of what goes wrong in it: limits on rates and differences, the emitting path's
/// drift, failures at a time, ageing over a run, timetables of light. Each law passes its check as it is, and the same check refuses
/// it with a wrong sign, a dropped term or quantities swapped. Checks are rows, or closed forms that are derived here.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tileflux/base/constants.h"
#include "tileflux/studies/campaign.h"
#include "verification/groups.h"
#include "verification/model.h"

namespace tileflux::verification::study_controls_test {

constexpr double pi = std::numbers::pi;
constexpr double sun_W_per_m2 = 1361.0;

/// What the solver keeps of temperatures and located times at the tolerances of a Model, relative.
constexpr double transient = 1e-7;
/// What a run keeps of energies (studies::transient_ledger_bound).
constexpr double energies = 1e-6;

studies::RunResult ran(const Model& model, double duration_s, studies::RunSink* sink = nullptr) {
  tile::Case description = model.description;
  description.run = {duration_s, duration_s};
  tile::TileSystem system(description);
  return studies::run(system, sink);
}

/// Notes the first time of an event.
class First : public studies::RunSink {
 public:
  explicit First(std::string_view what) : what_(what) {}
  void row(const studies::RunRow&) override {}
  void event(const studies::RunEvent& event) override {
    if (event.what == what_) at_s = std::min(at_s, event.time_s);
  }
  double at_s = HUGE_VAL;  ///< endless if it never happens

 private:
  std::string_view what_;
};

/// When the only limit is met again that is broken at the start.
double met_again_s(const Model& model, double duration_s) {
  First met("limit_met");
  ran(model, duration_s, &met);
  return met.at_s;
}

double worst_over(const Model& model, double duration_s) { return ran(model, duration_s).margins.front().value; }

Model rate_limited(Model model, const std::string& node, double rate_K_per_s) {
  tile::Limit limit;
  limit.node = node;
  limit.rate_below_K_per_s = rate_K_per_s;
  model.description.limits.push_back(limit);
  return model;
}

/// 1000 J/K at 300 K with 1 W/K to 250 K and heat.
Model room(double heat_W, double capacity_J_per_K = 1000.0, double conductance_W_per_K = 1.0) {
  Model model;
  model.fixed("outside", 250.0).store("room", capacity_J_per_K, 300.0).join("room", "outside", conductance_W_per_K);
  if (heat_W != 0.0) model.heat("room", heat_W);
  return model;
}

/// Row PCM-05b: 2 kg of molten wax in a case, heated with 50 W. Its rate rises from 0 to that of both, e-fold in less than a
/// second; its unknown is the enthalpy, which moves by cl/cs more than the temperature.
double wax_K_per_s(double case_J_per_K, double liquid_J_per_kg_K, double heat_W = 50.0) {
  Model model;
  model.store("case", case_J_per_K, 320.0).heat("case", heat_W);
  tile::Store wax;
  wax.name = "wax";
  wax.node = "case";
  wax.mass_kg = 2.0;
  wax.area_m2 = 1.0;
  wax.thickness_m = 1e-3;
  wax.contact_W_per_m2_K = 1000.0;
  wax.solid_J_per_kg_K = 1900.0;
  wax.liquid_J_per_kg_K = liquid_J_per_kg_K;
  wax.latent_J_per_kg = 225e3;
  wax.melt_K = 301.0;
  wax.solid_W_per_m_K = wax.liquid_W_per_m_K = 10.0;
  wax.start_K = 320.0;
  model.description.stores.push_back(wax);
  return worst_over(rate_limited(model, "wax", 1.0), 60.0);
}

Controls rates() {
  // C dT/dt = P - G (T - T0): at the start (20 - 50)/1000 K/s; what is left of it falls as exp(-G t/C).
  const auto most = [](double heat_W, double capacity_J_per_K, double conductance_W_per_K) {
    return worst_over(rate_limited(room(heat_W, capacity_J_per_K, conductance_W_per_K), "room", 1.0), 100.0);
  };
  const auto met_s = [](double heat_W, double limit_K_per_s) { return met_again_s(rate_limited(room(heat_W), "room", limit_K_per_s), 2000.0); };
  const double wax = wax_K_per_s(450.0, 2200.0);
  return {by_row("limit on a rate, store that has melted", "PCM-05b", wax,
                 {{"case dropped", wax_K_per_s(1.0, 2200.0)},
                  {"heat capacities of the phases swapped", wax_K_per_s(450.0, 1900.0)},
                  {"rate of the enthalpy for that of the temperature", wax * 2200.0 / 1900.0},
                  {"half of the heat dropped", wax_K_per_s(450.0, 2200.0, 25.0)}}),
          by_form("limit on a rate, fastest", "|P - G (T - T0)|/C at the start", 0.03, most(20.0, 1000.0, 1.0),
                  {{"wrong sign of the heat", most(-20.0, 1000.0, 1.0)},
                   {"heat dropped", most(0.0, 1000.0, 1.0)},
                   {"wrong sign of the rate: falling counts as slow", -0.03},
                   {"at the end, not at its fastest", 0.03 * std::exp(-0.1)},
                   {"half the capacity", most(20.0, 500.0, 1.0)}}),
          by_form("limit on a rate, when it is met again", "C/G ln(0.03/0.02)", 1000.0 * std::log(1.5), met_s(20.0, 0.02),
                  {{"wrong sign of the heat", met_s(-20.0, 0.02)}, {"heat dropped", met_s(0.0, 0.02)}, {"another limit", met_s(20.0, 0.021)}}, transient)};
}

Model apart(Model model, const std::string& a, const std::string& b, double below_K) {
  tile::DifferenceLimit limit;
  limit.a = a;
  limit.b = b;
  limit.below_K = below_K;
  model.description.differences.push_back(limit);
  return model;
}

Model steep(Model model, const std::string& a, const std::string& b, double distance_m) {
  tile::DifferenceLimit limit;
  limit.a = a;
  limit.b = b;
  limit.distance_m = distance_m;
  limit.gradient_below_K_per_m = 1.0;
  model.description.differences.push_back(limit);
  return model;
}

/// Row TR-30a: the difference of two joined nodes falls to 1/e of what it was after one time constant.
double fallen_s(double conductance_W_per_K, bool second_held = false, double share = std::exp(-1.0), double longest_s = 500.0) {
  Model model;
  model.store("first", 800.0, 350.0);
  second_held ? model.fixed("second", 280.0) : model.store("second", 300.0, 280.0);
  model.join("first", "second", conductance_W_per_K);
  return met_again_s(apart(model, "first", "second", 70.0 * share), longest_s);
}

/// Two nodes of 1000 J/K that cool from 350 K to 300 K, the second one four times faster.
Model parting(double second_W_per_K = 4.0) {
  Model model;
  model.fixed("sink", 300.0).store("slow", 1000.0, 350.0).store("fast", 1000.0, 350.0);
  model.join("slow", "sink", 1.0).join("fast", "sink", second_W_per_K);
  return model;
}

double gradient_K_per_m(double heat_W, double conductance_W_per_K, double distance_m) {
  Model model;
  model.massless("hot").fixed("cold", 300.0).join("hot", "cold", conductance_W_per_K).heat("hot", heat_W);
  return Steady(steep(model, "hot", "cold", distance_m)).point().margins.front().value;
}

Controls differences() {
  // 50 (exp(-u) - exp(-4 u)) with u = t/1000 s is greatest where exp(-3 u) = 1/4: 50 4^(-1/3) 3/4.
  const double widest_K = 50.0 * std::pow(4.0, -1.0 / 3.0) * 0.75;
  const double got_K = worst_over(apart(parting(), "slow", "fast", 100.0), 2000.0);
  return {by_row("limit on a difference, when it is met again", "TR-30a", fallen_s(2.5),
                 {{"wrong sign of the conductance: never", fallen_s(-2.5, false, std::exp(-1.0), 120.0)},
                  {"the second one's capacity dropped", fallen_s(2.5, true)},
                  {"capacities added", (800.0 + 300.0) / 2.5},
                  {"half for 1/e", fallen_s(2.5, false, 0.5)}}),
          by_form("limit on a difference, widest between rows", "50 K 4^(-1/3) 3/4", widest_K, got_K,
                  {{"wrong sign: the sum of both", 100.0},
                   {"at the end, not at its widest", 50.0 * (std::exp(-2.0) - std::exp(-8.0))},
                   {"one node's change dropped", worst_over(apart(parting(), "slow", "sink", 100.0), 2000.0)},
                   {"path of the second one swapped for another", worst_over(apart(parting(4.1), "slow", "fast", 100.0), 2000.0)}},
                  transient),
          by_form("limit on a gradient", "P/(G l)", 60.0 / (4.0 * 0.3), gradient_K_per_m(60.0, 4.0, 0.3),
                  {{"distance dropped", gradient_K_per_m(60.0, 4.0, 1.0)},
                   {"multiplied, not divided", 15.0 * 0.3},
                   {"conductance dropped", gradient_K_per_m(60.0, 1.0, 0.3)},
                   {"half of the heat dropped", gradient_K_per_m(30.0, 4.0, 0.3)}})};
}

/// A node of 1000 J/K that the light passes, at 300 K with 1 W/K to 300 K. The beam is on from 100 s to 600 s and heats it with
/// 20 W; from 1000 s to 1200 s something else does with 50 W.
studies::EmittingNode drift(double beam_W, double other_first_s, double conductance_W_per_K = 1.0) {
  Model model;
  model.fixed("outside", 300.0).store("glass", 1000.0, 300.0).join("glass", "outside", conductance_W_per_K);
  model.heat("glass", beam_W).heat("glass", 50.0);
  model.description.loads[0].when = tile::Load::When::beam_on;
  model.description.loads[1].when = tile::Load::When::pattern;
  model.description.loads[1].pattern = {200.0, 1e6, other_first_s};
  model.description.beam = tile::Beam{1.0, tile::TimePattern{500.0, 1e6, 100.0}};
  model.description.emitting_path = {"glass"};
  return ran(model, 2000.0).emitting_path.front();
}

Controls emitting_path() {
  const auto span_K = [](const studies::EmittingNode& node) { return node.highest_K - node.lowest_K; };
  const studies::EmittingNode right = drift(20.0, 1000.0), always = drift(20.0, 100.0);
  return {by_form("emitting path, range with the beam on", "P/G (1 - exp(-G t/C)) after 500 s", 20.0 * (1.0 - std::exp(-0.5)), span_K(right),
                  {{"times with the beam off as well", span_K(always)},
                   {"what it passes heat on to dropped", span_K(drift(20.0, 1000.0, 1e-6))},
                   {"half of the heat dropped", span_K(drift(10.0, 1000.0))}},
                  10.0 * transient),
          by_form("emitting path, fastest change with the beam on", "P/C as the beam comes on", 0.02, right.fastest_K_per_s,
                  {{"times with the beam off as well", always.fastest_K_per_s},
                   {"at its slowest, as the beam goes off", 0.02 * std::exp(-0.5)},
                   {"half of the heat dropped", drift(10.0, 1000.0).fastest_K_per_s}})};
}

using What = tile::Failure::What;

/// Things fail at 600 s of 1000 s if nothing else is said.
constexpr double breaks_s = 600.0, ends_s = 1000.0, never_s = 1e9;

Model failing(Model model, What what, const std::string& where, double value, double at_s) {
  tile::Failure failure;
  failure.at_s = at_s;
  failure.what = what;
  failure.where = where;
  failure.value = value;
  model.description.failures = {failure};
  return model;
}

/// A panel with cells of 30 % in the sun and a radiator with modules of 40 W at 40 %, whatever the temperature; optics pass 97 %.
Model lamp(int modules, double cells = 0.3) {
  Model model;
  model.sun(sun_W_per_m2).store("panel", 3000.0, 330.0).store("radiator", 4000.0, 300.0).join("panel", "radiator", 10.0);
  model.sunlit("panel", 1.0, 0.9, 0.85).radiate("radiator", 1.0, 0.88);
  tile::Case& described = model.description;
  tile::Cells on_panel;
  on_panel.surface = described.surfaces.front().name;
  on_panel.node = "panel";
  on_panel.efficiency = cells;
  described.cells = on_panel;
  tile::Bank bank;
  bank.name = "main";
  bank.mount = "radiator";
  bank.devices.modules = modules;
  bank.devices.law = devices::EfficiencyLaw{40.0, {200.0, 400.0}, {0.1, 1.0}, {0.4, 0.4, 0.4, 0.4}};
  bank.resistance_K_per_W = 0.5;
  described.lasers = {bank};
  described.optics = tile::Optics{"radiator", 0.97};
  described.beam = tile::Beam{};
  described.accuracy = {1e-9, 1e-7};
  return model;
}

constexpr double module_W = 0.97 * 0.4 * 40.0;

Controls broken_chain() {
  const auto light_J = [](double dead, double at_s, int in_series = 1) {
    Model model = lamp(4);
    model.description.lasers[0].in_series = in_series;
    return ran(failing(model, What::dead_modules, "main", dead, at_s), ends_s).books.light_J;
  };
  const auto available_J = [](double lost, double at_s) { return ran(failing(lamp(1), What::open_strings, "", lost, at_s), ends_s).books.available_J; };
  return {by_form("failure: dead modules", "light of N up to the time, of N - 1 after it", module_W * (4.0 * 600.0 + 3.0 * 400.0), light_J(1.0, breaks_s),
                  {{"wrong sign: one more", light_J(-1.0, breaks_s)},
                   {"failure dropped", light_J(1.0, never_s)},
                   {"time dropped", light_J(1.0, 0.0)},
                   {"times before and after swapped", light_J(1.0, ends_s - breaks_s)},
                   {"its string goes along", light_J(1.0, breaks_s, 2)}},
                  energies),
          by_form("failure: open strings", "E A eta (t1 + (1 - lost)(t2 - t1))", sun_W_per_m2 * 0.3 * (600.0 + 0.75 * 400.0), available_J(0.25, breaks_s),
                  {{"wrong sign: strings won", available_J(-0.25, breaks_s)},
                   {"what is left for what is lost", available_J(0.75, breaks_s)},
                   {"failure dropped", available_J(0.25, never_s)},
                   {"times before and after swapped", available_J(0.25, ends_s - breaks_s)}},
                  energies)};
}

/// 20000 J/K from 320 K through two heat pipes, each 20 W/K at both ends and 1000 W/K along its vapour, to 300 K. They carry far
/// more than they are asked to.
double cooled_K(double lost, double at_s) {
  Model model;
  model.store("hot", 20000.0, 320.0).fixed("cold", 300.0);
  tile::HeatPipe pipe;
  pipe.name = "pipe";
  pipe.pipes = pipe.mounted = 2;
  pipe.evaporators = {{"hot", 20.0}};
  pipe.condensers = {{"cold", 20.0}};
  pipe.transport_W_m = PropertyTable({200.0, 310.0, 420.0}, {0.0, 1000.0, 0.0});
  model.description.pipes = {pipe};
  return After(failing(model, What::lost_pipes, "pipe", lost, at_s), ends_s).temperature_K("hot") - 300.0;
}

/// A heater of 50 W whose thermostat never calls for it, stuck (1 on, 0 off).
double stuck_heater_K(double on, double at_s, double power_W = 50.0) {
  Model model = room(0.0);
  model.description.heaters.push_back({"warmer", "room", "room", power_W, 100.0, 110.0, {}});
  return After(failing(model, What::stuck_heater, "warmer", on, at_s), ends_s).temperature_K("room");
}

Controls broken_heat_paths() {
  constexpr double pipe_W_per_K = 1.0 / (1.0 / 20.0 + 1.0 / 20.0 + 1.0 / 1000.0);
  // Without the heater the room cools from 300 K towards 250 K, with it it warms towards 300 K: e-fold in 1000 s both times.
  const double warm_K = 300.0 - 50.0 * (1.0 - std::exp(-0.6)) * std::exp(-0.4);
  return {by_form("failure: lost pipes", "20 K exp(-(2 g t1 + g (t2 - t1))/C)", 20.0 * std::exp(-pipe_W_per_K * (2.0 * 600.0 + 400.0) / 20000.0), cooled_K(1.0, breaks_s),
                  {{"failure dropped", cooled_K(1.0, never_s)},
                   {"time dropped", cooled_K(1.0, 0.0)},
                   {"both lost", cooled_K(2.0, breaks_s)},
                   {"times before and after swapped", cooled_K(1.0, ends_s - breaks_s)}},
                  10.0 * transient),
          by_form("failure: stuck heater", "300 K - 50 K (1 - exp(-t1/tau)) exp(-(t2 - t1)/tau)", warm_K, stuck_heater_K(1.0, breaks_s),
                  {{"wrong sign: stuck off", stuck_heater_K(0.0, breaks_s)},
                   {"wrong sign of its heat", stuck_heater_K(1.0, breaks_s, -50.0)},
                   {"failure dropped", stuck_heater_K(1.0, never_s)},
                   {"times before and after swapped", stuck_heater_K(1.0, ends_s - breaks_s)}},
                  transient)};
}

/// A plate of 1 m2 and absorptance 0.9 whose tilt follows a table, straight from 0 to 1 rad over 1000 s, until it sticks.
double stuck_tilt_J(double tilt_rad, double at_s) {
  Model model;
  model.sun(sun_W_per_m2).store("plate", 5000.0, 300.0).sunlit("plate", 1.0, 0.9, 0.85);
  tile::Course course;
  course.time_s = {0.0, ends_s};
  course.tilt_rad = {0.0, 1.0};
  model.description.course = course;
  model.description.accuracy = {1e-9, 1e-7};
  return ran(failing(model, What::stuck_tilt, "", tilt_rad, at_s), ends_s).books.incoming_J;
}

/// A plate of 1 m2 held at 320 K in the sun, absorptance 0.1 and emittance 0.8, whose finish degrades.
studies::EnergyBooks degraded(std::optional<double> absorptance, std::optional<double> emittance, double at_s) {
  Model model;
  model.sun(sun_W_per_m2).fixed("plate", 320.0).store("witness", 100.0, 320.0).join("plate", "witness", 1.0).sunlit("plate", 1.0, 0.1, 0.8);
  Model broken = failing(model, What::degraded_finish, model.description.surfaces.front().name, 0.0, at_s);
  broken.description.failures.front().absorptance = absorptance;
  broken.description.failures.front().emittance = emittance;
  return ran(broken, ends_s).books;
}

Controls broken_faces() {
  const auto turned_J = [](double until_rad, double cosine_after) { return 0.9 * sun_W_per_m2 * (1000.0 * std::sin(until_rad) + 400.0 * cosine_after); };
  const double black_W = stefan_boltzmann_W_per_m2_K4 * std::pow(320.0, 4);
  const auto absorbed_J = [](std::optional<double> absorptance, double at_s) { return degraded(absorptance, {}, at_s).incoming_J; };
  const auto emitted_J = [](std::optional<double> emittance, double at_s) { return degraded({}, emittance, at_s).to_space_J; };
  return {by_form("failure: stuck tilt", "alpha S (sin(w t1)/w + (t2 - t1) cos(tilt)), w = 1 rad/1000 s", turned_J(0.6, std::cos(1.2)), stuck_tilt_J(1.2, breaks_s),
                  {{"wrong sign of the cosine: lit from behind", turned_J(0.6, -std::cos(1.2))},
                   {"failure dropped: goes on turning", stuck_tilt_J(1.2, never_s)},
                   {"tilt dropped: stays where it was", stuck_tilt_J(0.6, breaks_s)},
                   {"angle from the plane for that from its normal", stuck_tilt_J(0.5 * pi - 1.2, breaks_s)}},
                  energies),
          by_form("failure: degraded finish, sunlight", "S A (a1 t1 + a2 (t2 - t1))", sun_W_per_m2 * (0.1 * 600.0 + 0.3 * 400.0), absorbed_J(0.3, breaks_s),
                  {{"wrong sign of the change", sun_W_per_m2 * (0.1 * 600.0 - 0.1 * 400.0)},
                   {"failure dropped", absorbed_J({}, breaks_s)},
                   {"added to what it was", absorbed_J(0.4, breaks_s)},
                   {"before and after swapped", absorbed_J(0.3, ends_s - breaks_s)}},
                  energies),
          by_form("failure: degraded finish, infrared", "sigma A T^4 (e1 t1 + e2 (t2 - t1))", black_W * (0.8 * 600.0 + 0.6 * 400.0), emitted_J(0.6, breaks_s),
                  {{"reflectance for emittance", emitted_J(0.4, breaks_s)},
                   {"failure dropped", emitted_J({}, breaks_s)},
                   {"time dropped", emitted_J(0.6, 0.0)},
                   {"absorptance and emittance swapped", degraded(0.6, {}, breaks_s).to_space_J}},
                  energies)};
}

/// A finish that light darkens from 0.1 towards 0.3, e-fold in 10000 s; the wear takes effect every 20 s.
double darkened(double end, double time_constant_s, double tilt_rad = 0.0) {
  Model model;
  model.sun(sun_W_per_m2, tilt_rad).fixed("plate", 320.0).store("witness", 100.0, 320.0).join("plate", "witness", 1.0).sunlit("plate", 1.0, 0.1, 0.8);
  tile::Ageing ageing;
  ageing.finishes = {{model.description.surfaces.front().name, {end, time_constant_s}}};
  ageing.update_s = 20.0;
  model.description.ageing = ageing;
  return ran(model, ends_s).ageing.front().end;
}

Control worn() {
  // The first interval u is carried with what the finish was at its beginning: u^2/2 times the second derivative, 4e-7 of 0.119.
  constexpr double first_interval = 5e-6;
  return by_form("ageing over a run", "end - (end - start) exp(-t/tau)", 0.3 - 0.2 * std::exp(-0.1), darkened(0.3, 1e4),
                 {{"wrong sign: brightens", 0.1 - 0.2 * (1.0 - std::exp(-0.1))},
                  {"in the dark: seen from behind", darkened(0.3, 1e4, pi)},
                  {"what is left to go dropped: straight on", 0.1 + 0.2 * 0.1},
                  {"start and end swapped", 0.1 + 0.2 * std::exp(-0.1)}},
                 first_interval);
}

tile::Request request(const std::string& name, double at_s, double for_s, double light_W) {
  tile::Request asked;
  asked.name = name;
  asked.at_s = at_s;
  asked.for_s = for_s;
  asked.light_W = light_W;
  return asked;
}

studies::CampaignResult carried(Model model, const std::vector<tile::Request>& requests, const std::vector<tile::KeepOut>& keep_out = {}) {
  model.description.campaign = tile::Campaign{};
  model.description.campaign->requests = requests;
  model.description.campaign->keep_out = keep_out;
  model.description.run = {3600.0, 3600.0};
  tile::TileSystem system(model.description);
  return studies::campaign(system, nullptr);
}

double refused_J(const studies::Served& served, studies::Refusal why) { return served.refused_J[static_cast<std::size_t>(why)]; }

/// One who asks for 20 W from 100 s to 2500 s; nothing may be emitted from `from_s` to `to_s`.
studies::Served kept_out(double from_s, double to_s) { return carried(lamp(2), {request("one", 100.0, 2400.0, 20.0)}, {{from_s, to_s}}).all; }

/// Two who ask at once for half an hour, 25 W and 20 W, of two modules: what the second gets.
double second_J(long first_priority, long second_priority, int modules = 2, double transmission = 0.97) {
  Model model = lamp(modules);
  model.description.optics->transmission = transmission;
  tile::Request first = request("first", 0.0, 1800.0, 25.0), second = request("second", 0.0, 1800.0, 20.0);
  first.priority = first_priority;
  second.priority = second_priority;
  return carried(model, {first, second}).requests[1].served.delivered_J;
}

/// Drives of 50 % and 90 % at once for half an hour where 80 % is the most: what the second gets.
double second_by_drive_J(double most, double first_drive = 0.5, double second_drive = 0.9) {
  Model model = lamp(2);
  model.description.beam->drive = most;
  tile::Request first = request("first", 0.0, 1800.0, 0.0), second = request("second", 0.0, 1800.0, 0.0);
  first.light_W.reset();
  second.light_W.reset();
  first.drive = first_drive;
  second.drive = second_drive;
  first.priority = 1;
  return carried(model, {first, second}).requests[1].served.delivered_J;
}

/// Windows of 300 s that ask for 10 W, from 1000 s on, every 1200 s.
double repeated_J(double every_s, long times, double for_s = 300.0) {
  tile::Request asked = request("one", 1000.0, for_s, 10.0);
  asked.every_s = every_s;
  asked.times = times;
  return carried(lamp(2), {asked}).all.delivered_J;
}

/// One who asks for 30 W of two modules whose cells give too little.
studies::Served short_of_sun(double cells, double transmission = 0.97) {
  Model model = lamp(2, cells);
  model.description.optics->transmission = transmission;
  return carried(model, {request("one", 0.0, 1800.0, 30.0)}).all;
}

Controls campaigns() {
  using studies::Refusal;
  const studies::Served right = kept_out(600.0, 1500.0), poor = short_of_sun(0.03);
  const double both_W = 2.0 * module_W, poor_W = 0.97 * 0.4 * 0.03 * sun_W_per_m2;
  return {by_form("timetable, keep-out", "P (open - kept out)", 20.0 * (2400.0 - 900.0), right.delivered_J,
                  {{"keep-out dropped", kept_out(3000.0, 3100.0).delivered_J},
                   {"wrong sign: given where nothing may be, and refused elsewhere", refused_J(right, Refusal::keep_out)},
                   {"wrong sign: time added", 20.0 * (2400.0 + 900.0)},
                   {"edges of window and keep-out swapped", 20.0 * (1500.0 - 100.0)}},
                  energies),
          by_form("timetable, shared by priority", "N tau eta P - what the first one asks for", 1800.0 * (both_W - 25.0), second_J(1, 0),
                  {{"priorities swapped", second_J(0, 1)},
                   {"one module more", second_J(1, 0, 3)},
                   {"optics dropped", second_J(1, 0, 2, 1.0)},
                   {"in proportion, not in order", 1800.0 * both_W * 20.0 / 45.0}},
                  energies),
          by_form("timetable, shared drive", "(most - first) of the light of all", 1800.0 * 0.3 * both_W, second_by_drive_J(0.8),
                  {{"the most dropped", second_by_drive_J(1.0)},
                   {"who asks first swapped", second_by_drive_J(0.8, 0.2)},
                   {"what the first one takes dropped", 1800.0 * 0.8 * both_W},
                   {"wrong sign of what the first one takes", 1800.0 * 1.3 * both_W}},
                  energies),
          by_form("timetable, repeats", "P (300 + 300 + 200) s, the last window cut by the end", 10.0 * 800.0, repeated_J(1200.0, 5),
                  {{"repeats dropped", repeated_J(1200.0, 1)},
                   {"counted from end to beginning", repeated_J(1500.0, 5)},
                   {"end of the run dropped", 10.0 * 5.0 * 300.0},
                   {"length and interval swapped", 10.0 * 1200.0 * 2.0}},
                  energies),
          by_form("timetable, short of sunlight", "30 W - tau eta_l eta_c E A is refused for energy", 1800.0 * (30.0 - poor_W), refused_J(poor, Refusal::energy),
                  {{"wrong sign: what is given", poor.delivered_J},
                   {"optics dropped", refused_J(short_of_sun(0.03, 1.0), Refusal::energy)},
                   {"cells that give enough", refused_J(short_of_sun(0.3), Refusal::energy)},
                   {"blamed on the lasers", refused_J(poor, Refusal::beyond_lasers)}},
                  energies)};
}

Controls controls() {
  Controls all{worn()};
  for (const Controls& more : {rates(), differences(), emitting_path(), broken_chain(), broken_heat_paths(), broken_faces(), campaigns()})
    all.insert(all.end(), more.begin(), more.end());
  return all;
}

TEST(StudyControls, PassAsTheyAreAndAreRefusedWithAFault) { check_all(controls()); }

}  // namespace tileflux::verification::study_controls_test
