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

/// Temperatures over time: one column per node.
struct History {
  std::vector<double> time_s;
  std::map<std::string, std::vector<double>> temperature_K;
};

std::filesystem::path project_file(const std::string& name);

/// A copy of a file with one text replaced; throws if the text does not stand there exactly once.
std::filesystem::path with_replacement(const test::TemporaryDirectory& here, const std::filesystem::path& file,
                                       const std::string& text, const std::string& replacement);

/// By running the command.
SteadyStates steady_by_command(const std::filesystem::path& case_file);
History history_by_command(const std::filesystem::path& case_file);

/// By running the SciPy script.
struct SecondOpinion {
  SteadyStates steady;
  History history;
};
SecondOpinion by_scipy(const std::filesystem::path& case_file);
SteadyStates steady_by_scipy(const std::filesystem::path& case_file);

/// By translating the case into a circuit and running ngspice. With a change, that text of the circuit is replaced.
struct Change {
  std::string text, replacement;
};
State steady_by_ngspice(const std::filesystem::path& case_file, bool beam, const std::optional<Change>& change = {});

/// The largest difference over all nodes (and all times of `b`, each of which must be a time of `a`). Throws unless both have the same nodes.
double largest_difference_K(const State& a, const State& b);
double largest_difference_K(const History& a, const History& b);

}  // namespace tileflux::referee
