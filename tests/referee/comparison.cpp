#include "referee/comparison.h"

#include <algorithm>
#include <cmath>
#include <iostream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <stdexcept>

#include "support/child_process.h"

namespace tileflux::referee {

namespace {

using Json = nlohmann::json;

std::string output_of(const std::vector<std::string>& command, int highest_exit_status = 0) {
  const test::ProgramResult result = test::run_program(command);
  if (result.exit_status > highest_exit_status || result.exit_status < 0) {
    throw std::runtime_error(command.at(1) + " ended with " + std::to_string(result.exit_status) + ": " + result.standard_error);
  }
  return result.standard_output;
}

std::string script(const std::string& name) { return project_file("tests/referee/" + name).string(); }
std::string materials() { return project_file("materials").string(); }

// The command ends with 1 where a limit of the case is broken: that is an answer, too.
constexpr int answered = 1;

State state_of(const Json& json) { return json.get<State>(); }

SteadyStates steady_of(const Json& json) {
  SteadyStates states{state_of(json.at("beam_off")), {}};
  if (json.contains("beam_on")) states.beam_on = state_of(json.at("beam_on"));
  return states;
}

std::vector<std::string> split(const std::string& line) {
  std::vector<std::string> cells;
  std::istringstream stream(line);
  for (std::string cell; std::getline(stream, cell, ',');) cells.push_back(cell);
  return cells;
}

Json run_scipy(const std::filesystem::path& case_file, const std::vector<std::string>& options) {
  std::vector<std::string> command{"/usr/bin/python3", script("scipy_referee.py"), case_file.string(), materials()};
  command.insert(command.end(), options.begin(), options.end());
  return Json::parse(output_of(command));
}

void require_same_nodes(bool same) {
  if (!same) throw std::runtime_error("the two do not have the same nodes");
}

}  // namespace

std::filesystem::path project_file(const std::string& name) { return std::filesystem::path(TILEFLUX_PROJECT_DIR) / name; }

std::filesystem::path with_replacement(const test::TemporaryDirectory& here, const std::filesystem::path& file,
                                       const std::string& text, const std::string& replacement) {
  std::string content = test::read_file(file);
  const std::size_t place = content.find(text);
  if (place == std::string::npos || content.find(text, place + 1) != std::string::npos) {
    throw std::runtime_error("'" + text + "' does not stand exactly once in " + file.string());
  }
  content.replace(place, text.size(), replacement);
  const std::filesystem::path copy = here / ("changed_" + file.filename().string());
  test::write_file(copy, content);
  return copy;
}

SteadyStates steady_by_command(const std::filesystem::path& case_file, const std::string& at) {
  std::vector<std::string> command{TILEFLUX_COMMAND, "balance", case_file.string(), "--json"};
  if (!at.empty()) command.insert(command.end(), {"--at", at});
  const Json json = Json::parse(output_of(command, answered));
  SteadyStates states{state_of(json.at("beam_off").at("temperature_K")), {}};
  if (json.contains("beam_on") && !json.at("beam_on").is_null()) states.beam_on = state_of(json.at("beam_on").at("temperature_K"));
  return states;
}

History history_by_command(const std::filesystem::path& case_file) {
  const test::TemporaryDirectory here;
  output_of({TILEFLUX_COMMAND, "run", case_file.string(), "--out", (here / "out").string()}, answered);
  std::istringstream file(test::read_file(here / "out" / "series.csv"));
  std::string line;
  std::getline(file, line);
  const std::vector<std::string> names = split(line);
  std::getline(file, line);  // units
  const std::string prefix = "temperature.";
  History history;
  const auto column = [&names](const std::string& name) { return static_cast<std::size_t>(std::find(names.begin(), names.end(), name) - names.begin()); };
  const std::size_t charge = column("battery_charge"), melted = column("melted_share");
  while (std::getline(file, line)) {
    const std::vector<std::string> cells = split(line);
    history.time_s.push_back(std::stod(cells.at(0)));
    history.battery_charge.push_back(std::stod(cells.at(charge)));
    history.melted_share.push_back(std::stod(cells.at(melted)));
    for (std::size_t i = 1; i < names.size(); ++i) {
      if (names[i].compare(0, prefix.size(), prefix) == 0) history.temperature_K[names[i].substr(prefix.size())].push_back(std::stod(cells.at(i)));
    }
  }
  std::istringstream events(test::read_file(here / "out" / "events.csv"));
  while (std::getline(events, line)) {
    const std::vector<std::string> cells = split(line);
    const bool switched = cells.size() > 2 && (cells[1] == "heater_on" || cells[1] == "heater_off" || cells[1] == "trip" || cells[1] == "trip_reset");
    if (switched) history.switchings.push_back({std::stod(cells[0]), cells[1], cells[2]});
  }
  return history;
}

SecondOpinion by_scipy(const std::filesystem::path& case_file, double tolerance_K) {
  std::ostringstream tolerance;
  tolerance << tolerance_K;
  const Json json = run_scipy(case_file, {"--tolerance", tolerance.str()});
  SecondOpinion opinion;
  opinion.steady = steady_of(json);
  opinion.history.time_s = json.at("time_s").get<std::vector<double>>();
  const auto names = json.at("nodes").get<std::vector<std::string>>();
  for (const Json& row : json.at("temperature_K")) {
    for (std::size_t i = 0; i < names.size(); ++i) opinion.history.temperature_K[names[i]].push_back(row.at(i).get<double>());
  }
  if (json.contains("battery_charge")) opinion.history.battery_charge = json.at("battery_charge").get<std::vector<double>>();
  for (const Json& row : json.value("melted_share", Json::array())) opinion.history.melted_share.push_back(row.at(0).get<double>());
  for (const Json& event : json.at("events")) {
    opinion.history.switchings.push_back({event.at(0).get<double>(), event.at(1).get<std::string>(), event.at(2).get<std::string>()});
  }
  return opinion;
}

SteadyStates steady_by_scipy(const std::filesystem::path& case_file, const std::string& at) {
  std::vector<std::string> options{"--steady-only"};
  if (!at.empty()) options.insert(options.end(), {"--at", at});
  return steady_of(run_scipy(case_file, options));
}

State steady_by_ngspice(const std::filesystem::path& case_file, bool beam, const std::optional<Change>& change) {
  const test::TemporaryDirectory here;
  std::filesystem::path circuit = here / "tile.cir";
  test::write_file(circuit, output_of({"/usr/bin/python3", script("spice_netlist.py"), case_file.string(), materials(), beam ? "on" : "off"}));
  if (change) circuit = with_replacement(here, circuit, change->text, change->replacement);
  std::istringstream lines(output_of({"ngspice", "-b", circuit.string()}));
  const std::string prefix = "v(temperature_";
  State state;
  for (std::string line; std::getline(lines, line);) {
    const std::size_t end = line.find(") = ");
    if (line.compare(0, prefix.size(), prefix) != 0 || end == std::string::npos) continue;
    state[line.substr(prefix.size(), end - prefix.size())] = std::stod(line.substr(end + 4));
  }
  return state;
}

double largest_difference_K(const State& a, const State& b) {
  require_same_nodes(!a.empty() && a.size() == b.size());
  double most_K = 0.0;
  for (const auto& [name, temperature_K] : a) {
    const auto found = b.find(name);
    require_same_nodes(found != b.end());
    most_K = std::max(most_K, std::abs(found->second - temperature_K));
  }
  return most_K;
}

double largest_difference_K(const History& a, const History& b) {
  require_same_nodes(!a.temperature_K.empty() && a.temperature_K.size() == b.temperature_K.size());
  if (b.time_s.empty()) throw std::runtime_error("no times to compare");
  // Times are printed and read again in full; only a different sum of the same numbers can differ.
  constexpr double same_instant_s = 1e-6;
  double most_K = 0.0;
  std::size_t row = 0;
  for (std::size_t k = 0; k < b.time_s.size(); ++k) {
    while (row < a.time_s.size() && a.time_s[row] < b.time_s[k] - same_instant_s) ++row;
    if (row == a.time_s.size() || std::abs(a.time_s[row] - b.time_s[k]) > same_instant_s) throw std::runtime_error("a time is missing");
    for (const auto& [name, column] : a.temperature_K) {
      const auto found = b.temperature_K.find(name);
      require_same_nodes(found != b.temperature_K.end());
      const double apart_K = std::abs(found->second.at(k) - column.at(row));
      if (std::isnan(apart_K)) throw std::runtime_error("a temperature of " + name + " is no number");
      most_K = std::max(most_K, apart_K);
    }
  }
  return most_K;
}

double largest_difference(const std::vector<double>& a, const std::vector<double>& b) {
  if (a.empty() || a.size() != b.size()) throw std::runtime_error("the two do not have the same rows");
  double most = 0.0;
  for (std::size_t k = 0; k < a.size(); ++k) most = std::max(most, std::abs(a[k] - b[k]));
  return most;
}

double largest_difference_s(const std::vector<Switching>& a, const std::vector<Switching>& b) {
  if (a.empty() || a.size() != b.size()) {
    throw std::runtime_error(std::to_string(a.size()) + " switchings against " + std::to_string(b.size()));
  }
  double most_s = 0.0;
  for (std::size_t k = 0; k < a.size(); ++k) {
    if (a[k].what != b[k].what || a[k].where != b[k].where) throw std::runtime_error(a[k].what + " against " + b[k].what);
    most_s = std::max(most_s, std::abs(a[k].time_s - b[k].time_s));
  }
  return most_s;
}

double reached(const std::string& what, double difference) {
  std::cout << "[ REACHED  ] " << what << ": " << difference << '\n';
  return difference;
}

}  // namespace tileflux::referee
