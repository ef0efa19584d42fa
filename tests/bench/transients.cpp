/// Day-long transients of the reference problem by the library, by plain CVODE and by SciPy.

#include <fmt/format.h>

#include <cstdlib>
#include <fstream>
#include <map>
#include <sstream>
#include <stdexcept>

#include "bench/measure.h"
#include "bench/plain_solvers.h"
#include "bench/sections.h"
#include "tileflux/studies/run.h"

namespace tileflux::bench {

namespace {

/// What is compared at equal error, and at which.
constexpr double equal_error_K = 1e-3;
constexpr const char* ours = "tileflux";
constexpr const char* plain_klu = "CVODE, KLU, exact Jacobian";

struct Variant {
  const char* name;
  const char* meaning;
  Throttle throttle;
};
constexpr Variant variants[] = {{"R", "172 throttle events", hysteresis_R},
                                {"R0", "the throttle never acts", never_R0},
                                {"Rc", "the throttle chatters", chatter_Rc}};

class Rows : public studies::RunSink {
 public:
  void row(const studies::RunRow& row) override { kept.insert(kept.end(), row.temperature_K.begin(), row.temperature_K.begin() + nodes); }
  void event(const studies::RunEvent&) override {}
  std::vector<double> kept;
};

/// Places of the library's nodes in the order of problem.h.
std::vector<std::size_t> node_order(const tile::TileSystem& system) {
  std::vector<std::string> names;
  for (const char* layer : {"cover", "cells", "front_sheet", "core", "back_sheet"}) {
    for (const char* zone : {".a", ".b"}) names.push_back(std::string(layer) + zone);
  }
  for (const char* name : {"converter", "battery", "laser_1.junction", "mount_1", "laser_2.junction", "mount_2", "plate", "vapour"}) names.push_back(name);
  for (int k = 1; k <= 6; ++k) names.push_back("segment_" + std::to_string(k));
  std::vector<std::size_t> order;
  for (const std::string& name : names) {
    const network::NodeId id = system.network().find(name);
    if (id < 0) throw std::runtime_error("the reference tile has no node " + name);
    order.push_back(static_cast<std::size_t>(id));
  }
  return order;
}

/// The library's whole `run`, books, extremes and events included, carried at this tolerance.
Trace our_trace(const Variant& variant, double relative, double absolute) {
  tile::Case description = reference_case();
  description.accuracy.relative = 10.0 * relative;  // `run` carries a tenth of what a case asks for
  description.accuracy.absolute_K = 10.0 * absolute;
  description.run.output_every_s = sample_every_s;
  for (tile::Limit& limit : description.limits) {
    limit.below_K = variant.throttle.high_K;
    limit.trip_reset_K = variant.throttle.low_K;
  }
  tile::TileSystem system(description);
  const std::vector<std::size_t> order = node_order(system);
  Rows rows;
  const double begin = seconds_now();
  const studies::RunResult result = studies::run(system, &rows);
  Trace trace;
  trace.seconds = seconds_now() - begin;
  trace.steps = result.counts.steps;
  for (const char* what : {"trip", "trip_reset"}) {
    const auto found = result.event_counts.find(what);
    if (found != result.event_counts.end()) trace.throttle_events += found->second;
  }
  for (std::size_t row = 0; row < rows.kept.size(); row += nodes) {
    for (const std::size_t place : order) trace.samples.push_back(rows.kept[row + place]);
  }
  return trace;
}

Trace scipy_trace(const Variant& variant, const char* method, double relative, double absolute) {
  const std::string samples = std::string(TILEFLUX_BUILD_DIR) + "/scipy_samples.bin";
  const std::string words = fmt::format("/usr/bin/python3 '{}' {} {} {} {} '{}'", project_file("tests/bench/scipy_solvers.py"),
                                        variant.name, method, relative, absolute, samples);
  FILE* pipe = popen(words.c_str(), "r");
  if (pipe == nullptr) throw std::runtime_error("no python3");
  Trace trace;
  const int read = std::fscanf(pipe, "%lf %ld %ld", &trace.seconds, &trace.steps, &trace.throttle_events);
  if (pclose(pipe) != 0 || read != 3) throw std::runtime_error("SciPy's " + std::string(method) + " gave nothing");
  std::ifstream file(samples, std::ios::binary);
  for (double value = 0.0; file.read(reinterpret_cast<char*>(&value), sizeof value);) trace.samples.push_back(value);
  return trace;
}

struct Line {
  std::string method;
  double relative = 0.0;
  std::vector<double> seconds;
  Trace last;
  double error_K = 0.0;
};

/// Seconds at the error that is compared, along straight lines between (error, seconds) in logarithms.
double seconds_at_equal_error(const std::vector<Line>& lines, const std::string& method) {
  std::map<double, double> points;
  for (const Line& line : lines) {
    if (line.method == method) points[std::log(line.error_K)] = std::log(median(line.seconds));
  }
  if (points.size() < 2) return points.empty() ? HUGE_VAL : std::exp(points.begin()->second);
  auto high = points.lower_bound(std::log(equal_error_K));
  if (high == points.begin()) ++high;
  if (high == points.end()) --high;
  const auto low = std::prev(high);
  const double slope = (high->second - low->second) / (high->first - low->first);
  return std::exp(low->second + slope * (std::log(equal_error_K) - low->first));
}

std::string table(const std::vector<Line>& lines) {
  std::string text = "| solver | relative tolerance | time, ms | steps | switches of the throttle | error, K |\n| --- | --- | --- | --- | --- | --- |\n";
  for (const Line& line : lines) {
    text += fmt::format("| {} | {:.0e} | {:.0f} | {} | {} | {:.1e} |\n", line.method, line.relative, 1e3 * median(line.seconds),
                        line.last.steps, line.last.throttle_events, line.error_K);
  }
  return text;
}

std::string conclusion(const std::vector<Line>& lines) {
  const double ours_s = seconds_at_equal_error(lines, ours), klu_s = seconds_at_equal_error(lines, plain_klu);
  std::string best;
  double best_s = HUGE_VAL;
  for (const char* method : {"SciPy LSODA", "SciPy BDF", "SciPy Radau"}) {
    const double seconds = seconds_at_equal_error(lines, method);
    if (seconds < best_s) {
      best_s = seconds;
      best = method;
    }
  }
  std::string text = fmt::format("\nAt an error of {:.0e} K, between the rows: tileflux {:.0f} ms; CVODE with KLU {:.0f} ms, tileflux in **{:.2f}** of its time",
                                 equal_error_K, 1e3 * ours_s, 1e3 * klu_s, ours_s / klu_s);
  if (std::isfinite(best_s)) text += fmt::format("; {} {:.0f} ms, tileflux **{:.1f}** times as fast", best, 1e3 * best_s, best_s / ours_s);
  return text + ".\n";
}

std::string one_variant(const Variant& variant, bool quick) {
  const Trace reference = cvode_trace(variant.throttle, Linear::sparse_exact, 1e-11, 1e-9);
  std::vector<Line> lines;
  for (const double relative : {1e-6, 1e-7, 1e-8}) lines.push_back({ours, relative, {}, {}, 0.0});
  for (const double relative : {1e-6, 1e-7, 1e-8}) lines.push_back({plain_klu, relative, {}, {}, 0.0});
  for (const double relative : {1e-6, 1e-7, 1e-8}) lines.push_back({"CVODE, dense, differenced", relative, {}, {}, 0.0});
  const int repeats = quick ? 1 : 5;
  for (int turn = 0; turn < repeats; ++turn) {
    for (Line& line : lines) {
      const double absolute = 100.0 * line.relative;
      line.last = line.method == ours ? our_trace(variant, line.relative, absolute)
                                      : cvode_trace(variant.throttle, line.method == plain_klu ? Linear::sparse_exact : Linear::dense_differenced, line.relative, absolute);
      line.seconds.push_back(line.last.seconds);
    }
  }
  // Python's part: seconds each, so once.
  const bool chatter = std::string(variant.name) == "Rc";
  for (const char* method : {"LSODA", "BDF", "Radau"}) {
    for (const double relative : {1e-6, 1e-7, 1e-8}) {
      if (quick && (relative != 1e-6 || std::string(method) != "LSODA")) continue;
      if (chatter && (relative != 1e-7 || std::string(method) != "LSODA")) continue;
      const Trace trace = scipy_trace(variant, method, relative, 100.0 * relative);
      lines.push_back({std::string("SciPy ") + method, relative, {trace.seconds}, trace, 0.0});
    }
  }
  for (Line& line : lines) line.error_K = largest_difference(line.last.samples, reference.samples);
  return fmt::format("\n### {}: {}\n\n", variant.name, variant.meaning) + table(lines) + conclusion(lines);
}

}  // namespace

std::string transients(bool quick) {
  std::string text =
      "\n## A day of the reference tile\n\n"
      "24 nodes and a battery; 288 switches of the beam, 30 of the Sun. Error: the largest difference of any node at any of 865 instants from CVODE at a relative tolerance of 1e-11. "
      "Absolute tolerances are a hundred times the relative ones, in K. The time of tileflux is that of a whole `run`: energy books, extremes, events and margins included. Steps of SciPy are evaluations of the rates.\n";
  for (const Variant& variant : variants) text += one_variant(variant, quick);
  return text;
}

}  // namespace tileflux::bench
