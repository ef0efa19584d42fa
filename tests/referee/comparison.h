#pragma once
/// What the command says about a case and what a referee says, and how far apart they are.

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "support/temporary_directory.h"

namespace tileflux::referee {

/// Temperatures in kelvin by node.
using State = std::map<std::string, double>;

struct SteadyStates {
  State beam_off, beam_on;
};

/// A thermostat or a trip that switched.
struct Switching {
  double time_s = 0.0;
  std::string what, where;
};

/// Temperatures over time: one column per node. Charge of the battery and melted share of the store, where there is one.
struct History {
  std::vector<double> time_s;
  std::map<std::string, std::vector<double>> temperature_K;
  std::vector<double> battery_charge, melted_share;
  std::vector<Switching> switchings;
};

std::filesystem::path project_file(const std::string& name);

/// A copy of a file with one text replaced; throws if the text does not stand there exactly once.
std::filesystem::path with_replacement(const test::TemporaryDirectory& here, const std::filesystem::path& file,
                                       const std::string& text, const std::string& replacement);

/// By running the command. Under a moving sky for the mean surroundings, or those `at` a time such as "40 min".
SteadyStates steady_by_command(const std::filesystem::path& case_file, const std::string& at = "");
History history_by_command(const std::filesystem::path& case_file);

/// By running the SciPy script.
struct SecondOpinion {
  SteadyStates steady;
  History history;
};
/// With the tolerance of its integrator: a bound on the last term of the expansion of a step, far above the error.
constexpr double fine_K = 1e-6, coarse_K = 1e-5;
SecondOpinion by_scipy(const std::filesystem::path& case_file, double tolerance_K = fine_K);
SteadyStates steady_by_scipy(const std::filesystem::path& case_file, const std::string& at = "");

/// By translating the case into a circuit and running ngspice. With a change, that text of the circuit is replaced.
struct Change {
  std::string text, replacement;
};
State steady_by_ngspice(const std::filesystem::path& case_file, bool beam, const std::optional<Change>& change = {});

/// The largest difference over all nodes (and all times of `b`, each of which must be a time of `a`). Throws unless both have the same nodes.
double largest_difference_K(const State& a, const State& b);
double largest_difference_K(const History& a, const History& b);
double largest_difference(const std::vector<double>& a, const std::vector<double>& b);

/// In the times of the same switchings in the same order; throws if they are others.
double largest_difference_s(const std::vector<Switching>& a, const std::vector<Switching>& b);

/// Prints what was reached, and hands it on.
double reached(const std::string& what, double difference);

}  // namespace tileflux::referee
