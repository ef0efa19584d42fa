#pragma once
/// What a person asked for on the command line.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace tileflux::cli {

struct Invocation {
  std::string verb;  ///< empty: help or version only
  std::string case_file;
  std::string other_case_file;  ///< of `compare`
  std::string materials_directory;
  std::string entry;          ///< of `materials`
  std::string out_directory;  ///< empty: no files
  std::optional<double> duration_s;
  bool curve = false, map = false;  ///< of `duty`
  int curve_points = 30;            ///< of `duty`
  std::optional<double> at_s;       ///< instant whose surroundings steady answers take
  std::optional<double> output_every_s;
  std::optional<double> from_K;  ///< of `duty`: a uniform starting temperature
  bool accelerated = false;
  std::vector<std::string> vary;  ///< of `sweep`: PATH=RANGE
  int points = 25;                ///< of a range
  std::string spacing;            ///< empty: chosen by the range
  bool no_duty = false;
  std::string policy;  ///< of `margins`: a name, or a file; empty: what the case says
  int samples = 1000;
  std::optional<long> tiles;
  std::string ranked_for = "light";  ///< of `gains`
  int top = 15;                      ///< of `gains` and `compare`: inputs that are printed
  std::string radiator;              ///< of `gains`: a surface
  std::optional<double> areal_mass_kg_per_m2;
  std::vector<double> laser_efficiencies;  ///< of `gains`: to be compared
  bool no_why = false;                     ///< without the paragraph at the end
  bool over_run = false;                   ///< of `gains`
  std::string ask;                         ///< of `sweep`: the question; empty: both steady states
  std::vector<std::string> outputs;        ///< answers by name; empty: all
  std::string sample;                      ///< `latin=N` or `sobol=N`; empty: every combination
  std::uint64_t seed = 1;                  ///< of samples
  int threads = 0;                         ///< 0: as many as the machine has

  /// Whether a sweep is of answers by name over a design, and not of one value with all that changes on its way.
  bool asks_by_name() const { return vary.size() > 1 || !ask.empty() || !outputs.empty() || !sample.empty(); }
  std::vector<std::string> results;         ///< of `show` and `report`: files and directories
  std::string report_file = "report.html";  ///< of `report`: the page
  std::string pictures_directory;           ///< of `report`: where pictures of charts go; empty: none
  int width = 0;                            ///< of `show`: columns; 0: as the terminal has
  bool all = false;                         ///< of `show`: every row and column
  bool every_cycle = false;
  bool series = false;
  bool json = false;
  bool schema = false;
  std::optional<std::string> answer;  ///< text to print and be done: help or version
};

/// All verbs, in the order of the help page.
std::vector<std::string> verbs();

/// Reads the command line. Throws Error (verb_unknown, option_wrong) with the nearest spelling.
Invocation read_command_line(int argc, const char* const* argv, const std::string& default_materials);

}  // namespace tileflux::cli
