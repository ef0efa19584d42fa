/// Steady states, repeating states, sweeps on threads, growth with nodes.

#include <fmt/format.h>
#include <sys/utsname.h>

#include <chrono>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <stdexcept>
#include <thread>

#include "bench/measure.h"
#include "bench/plain_solvers.h"
#include "bench/sections.h"
#include "tileflux/materials/library.h"
#include "tileflux/solvers/steady.h"
#include "tileflux/studies/periodic.h"
#include "tileflux/studies/run.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::bench {

namespace {

std::string model_of_processor() {
  std::ifstream file("/proc/cpuinfo");
  for (std::string line; std::getline(file, line);) {
    if (line.rfind("model name", 0) == 0) return line.substr(line.find(':') + 2);
  }
  return "unknown processor";
}

/// The reference tile with lasers on at a share of their drive and the battery at rest: what KINSOL gets in problem.h.
tile::Mode steady_mode(const tile::Case& description, double share) {
  tile::Mode mode;
  mode.beam = true;
  mode.drive = share;
  mode.battery = false;
  mode.surroundings = tile::Mode::Surroundings::mean;
  mode.pattern_share.assign(description.loads.size(), 0.0);
  return mode;
}

double our_seconds_per_state(int count, bool kept, std::vector<double>& last) {
  tile::Case description = reference_case();
  description.battery->start_percent = 100.0;
  description.stow.clear();  // the mean over shadows would be less sunlight
  tile::TileSystem system(description);
  solvers::SteadySearch search(system);
  solvers::SteadyOptions options;
  options.residual_scale_W = 1361.0;
  std::vector<double> guess(static_cast<std::size_t>(system.size()), 290.0);
  guess.back() = 100.0;
  solvers::SteadySolution solution;
  const double begin = seconds_now();
  for (int k = 0; k < count; ++k) {
    system.set_mode(steady_mode(description, steady_share(k)));
    solution = kept ? search.find(guess, options) : solvers::find_steady(system, guess, options);
    if (!solution.found()) throw std::runtime_error(solution.trouble);
  }
  const double seconds = (seconds_now() - begin) / count;
  last = solution.x;
  return seconds;
}

/// The reference tile lit for ever, without battery and trips; `hold_back` weakens the paths to the battery's mass.
tile::Case pulsed_case(double hold_back) {
  tile::Case description = reference_case();
  description.stow.clear();
  description.battery.reset();
  description.limits.clear();
  for (tile::Join& join : description.joins) {
    if (join.a == "battery" || join.b == "battery") *join.conductance_W_per_K /= hold_back;
  }
  for (tile::RadiationLink& link : description.radiation) {
    if (link.a == "battery" || link.b == "battery") link.exchange_area_m2 /= hold_back;
  }
  return description;
}

}  // namespace

std::string head_of_page(bool quick) {
  const std::time_t now = std::time(nullptr);
  char date[32];
  std::strftime(date, sizeof date, "%Y-%m-%d", std::gmtime(&now));
  return fmt::format(
      "# Benchmark\n\n"
      "<!-- Written by `cmake --build build --target benchmark_page`; do not edit. -->\n\n"
      "The library beside what one would use without it: the same network given to general solvers as plain numbers, by hand-written rates and exact Jacobians. The problem is in "
      "`tests/bench/problem.h`; the same as a case in `tests/bench/reference_tile.yaml`. Everything was measured in one run, C++ solvers in turn{}; ratios mean more than times.\n\n"
      "Measured {} on {} ({} processors), g++ -O3, nothing tuned to the machine.\n",
      quick ? " (once each)" : " and five times each, the median being told", date, model_of_processor(), std::thread::hardware_concurrency());
}

std::string steady_states(bool quick) {
  const int count = 2000, repeats = quick ? 3 : 15;
  std::vector<double> bare, kept, single, last_bare, last_ours;
  for (int turn = 0; turn < repeats; ++turn) {
    bare.push_back(kinsol_seconds_per_state(count, last_bare));
    kept.push_back(our_seconds_per_state(count, true, last_ours));
    single.push_back(our_seconds_per_state(count, false, last_ours));
  }
  FILE* pipe = popen(fmt::format("/usr/bin/python3 '{}' steady 300", project_file("tests/bench/scipy_solvers.py")).c_str(), "r");
  double scipy_s = 0.0;
  if (pipe == nullptr || std::fscanf(pipe, "%lf", &scipy_s) != 1) throw std::runtime_error("SciPy's root gave nothing");
  while (std::fgetc(pipe) != EOF) {
  }
  pclose(pipe);
  // Lowest and highest temperature do not depend on the order of nodes.
  last_ours.pop_back();
  const auto range = [](const std::vector<double>& T) { return std::pair(*std::min_element(T.begin(), T.end()), *std::max_element(T.begin(), T.end())); };
  const double apart = std::max(std::abs(range(last_bare).first - range(last_ours).first), std::abs(range(last_bare).second - range(last_ours).second));
  if (apart > 1e-6) throw std::runtime_error(fmt::format("both steady states are {} K apart", apart));
  const double bare_s = median(bare);
  std::string text = fmt::format(
      "\n## Steady states\n\nThe same tile, sunlit, lasers at 20 to 50 % of their drive, each from 290 K everywhere. Both ends of the temperatures agree within {:.0e} K.\n\n"
      "| solver | states per second | time of one, us | against bare KINSOL |\n| --- | --- | --- | --- |\n", std::max(apart, 1e-12));
  const auto line = [&](const char* name, double seconds) {
    text += fmt::format("| {} | {:.0f} | {:.1f} | {:.2f} |\n", name, 1.0 / seconds, 1e6 * seconds, seconds / bare_s);
  };
  line("KINSOL, KLU, exact Jacobian, all objects kept", bare_s);
  line("tileflux, search kept (`SteadySearch`)", median(kept));
  line("tileflux, one search each (`find_steady`)", median(single));
  line("SciPy root (hybr), analytic Jacobian", scipy_s);
  text += "\nA search of its own pays for the analysis of the pattern and for KINSOL's memory each time; searches on one tile keep both, and the pivots, which KINSOL with its own solver for KLU chooses anew in every search.\n";
  return text;
}

std::string repeating_state(bool) {
  std::string text =
      "\n## The state that a duty cycle repeats\n\nBeam on for 300 s of each 600 s, from 290 K. Solved by `periodic_state`, against cycles carried out one after the other until every node is within 1 mK of it.\n\n"
      "| tile | solved: cycles | time, ms | one after the other: cycles | time, ms | ratio |\n| --- | --- | --- | --- | --- | --- |\n";
  for (const double hold_back : {1.0, 100.0}) {
    tile::Case description = pulsed_case(hold_back);
    constexpr double period_s = 600.0, close_K = 1e-3;
    tile::TileSystem system(description);
    const double begin = seconds_now();
    const studies::PeriodicState solved = studies::periodic_state(system, period_s, 300.0);
    const double solved_s = seconds_now() - begin;

    description.run.duration_s = 4000.0 * period_s;
    description.run.output_every_s = period_s;
    tile::TileSystem brute(description);
    struct : studies::RunSink {
      const std::vector<double>* goal = nullptr;
      bool there = false;
      double at_s = 0.0;
      void row(const studies::RunRow& row) override {
        double apart = 0.0;
        for (std::size_t i = 0; i < goal->size(); ++i) apart = std::max(apart, std::abs(row.temperature_K[i] - (*goal)[i]));
        if (apart < close_K && !there) {
          there = true;
          at_s = row.time_s;
        }
      }
      void event(const studies::RunEvent&) override {}
    } sink;
    sink.goal = &solved.x;
    const double brute_begin = seconds_now();
    studies::RunOptions options;
    options.stop_requested = [&] { return sink.there; };
    studies::run(brute, &sink, options);
    const double brute_s = seconds_now() - brute_begin;
    if (!sink.there) throw std::runtime_error("the cycles never came close to the repeating state");
    text += fmt::format("| {} | {} | {:.0f} | {:.0f} | {:.0f} | {:.1f} |\n",
                        hold_back > 1.0 ? fmt::format("with a mode of {:.1f} h", solved.slowest_s / 3600.0) : fmt::format("as it is (slowest mode {:.1f} h)", solved.slowest_s / 3600.0),
                        solved.cycles, 1e3 * solved_s, sink.at_s / period_s, 1e3 * brute_s, brute_s / solved_s);
  }
  text += "\nThe solved state comes with its multipliers and an estimate of its error; the other way tells neither, and without the answer nobody knows when to stop.\n";
  return text;
}

std::string sweep_on_threads(bool quick) {
  const std::string folder = std::string(TILEFLUX_BUILD_DIR) + "/bench_sweep";
  const std::string points = quick ? "400" : "2000";
  std::vector<double> one, two;
  for (int turn = 0; turn < (quick ? 1 : 3); ++turn) {
    for (const char* threads : {"1", "2"}) {
      std::filesystem::remove_all(folder);
      const ChildUse use = run_child({TILEFLUX_COMMAND, "sweep", project_file("cases/lamplighter/case.yaml"), "--sample", "latin=" + points, "--vary",
                                      "sun.distance=0.8..1.4AU", "--vary", "surfaces.rear.area=0.5..1.5 m2", "--threads", threads, "--out", folder});
      (threads[0] == '1' ? one : two).push_back(use.seconds);
    }
  }
  std::filesystem::remove_all(folder);
  return fmt::format(
      "\n## A sweep on threads\n\n{} steady operating points of the Lamplighter tile (two inputs), as a whole command with its files: one thread {:.2f} s, two threads {:.2f} s, **{:.2f}** times as fast.\n",
      points, median(one), median(two), median(one) / median(two));
}

namespace {

/// A rod of equal parts that radiate, heated at one end in pulses.
std::string rod(int parts) {
  std::string text = "tileflux: 1\ntitle: A rod\nsun: {distance: 1 AU}\nparts:\n";
  for (int k = 1; k <= parts; ++k) text += fmt::format("  n{}: {{heat_capacity: 100 J/K}}\n", k);
  text += "joins:\n";
  for (int k = 1; k < parts; ++k) text += fmt::format("  - {{between: [n{}, n{}], conductance: 5 W/K}}\n", k, k + 1);
  text += "surfaces:\n";
  for (int k = 1; k <= parts; ++k) text += fmt::format("  s{}: {{on: n{}, area: 0.02 m2, emittance: 85 %}}\n", k, k);
  text += "loads:\n  - {on: n1, power: 100 W, when: pattern, pattern: {on: 300 s, every: 600 s}}\n";
  for (int k = 1; k <= parts; k += 10) text += fmt::format("  - {{on: n{}, power: 40 W}}\n", k);
  return text + "start: {from: temperature, temperature: 15 degC}\nrun: {duration: 6 h, output_every: 300 s}\n";
}

}  // namespace

std::string growth_with_nodes(bool quick) {
  std::string text =
      "\n## Growth with the number of nodes\n\nA rod of equal parts with a pulsed heater, six hours with 72 switches; memory is the most that the whole command held.\n\n"
      "| nodes | time of `run` inside the library, ms | steps | time of a step per node, us | memory of the command, MB |\n| --- | --- | --- | --- | --- |\n";
  std::vector<double> count, seconds, memory;
  const std::string file = std::string(TILEFLUX_BUILD_DIR) + "/bench_rod.yaml";
  for (const int parts : {10, 30, 100, 300, 1000}) {
    std::ofstream(file) << rod(parts);
    const tile::Case description = tile::read_case(file, materials::Library()).description;
    std::vector<double> times;
    long steps = 0;
    for (int turn = 0; turn < (quick ? 1 : 3); ++turn) {
      tile::TileSystem system(description);
      const double begin = seconds_now();
      steps = studies::run(system, nullptr).counts.steps;
      times.push_back(seconds_now() - begin);
    }
    const ChildUse use = run_child({TILEFLUX_COMMAND, "run", "--no-why", file});
    count.push_back(parts);
    seconds.push_back(median(times) / static_cast<double>(steps));
    memory.push_back(use.peak_MB);
    text += fmt::format("| {} | {:.0f} | {} | {:.2f} | {:.0f} |\n", parts, 1e3 * median(times), steps, 1e6 * seconds.back() / parts, use.peak_MB);
  }
  std::filesystem::remove(file);
  return text + fmt::format("\nThe time of a step grows with the power **{:.2f}** of the number of nodes, from 100 to 1000; memory by {:.2f} MB per hundred nodes.\n",
                            exponent({count[2], count[3], count[4]}, {seconds[2], seconds[3], seconds[4]}), (memory[4] - memory[0]) / 9.9);
}

}  // namespace tileflux::bench
