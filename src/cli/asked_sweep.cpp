#include "cli/asked_sweep.h"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace tileflux::cli {

namespace {

struct Sampling {
  studies::Design::Kind kind = studies::Design::Kind::latin;
  long long rows = 0;
};

/// `latin=1000` or `sobol=1024`.
Sampling sampling_of(const std::string& text) {
  const std::size_t equals = text.find('=');
  const std::string word = text.substr(0, equals);
  Sampling sampling;
  const char* const begin = text.data() + std::min(text.size(), equals == std::string::npos ? text.size() : equals + 1);
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(begin, end, sampling.rows);
  if ((word != "latin" && word != "sobol") || begin == end || read.ptr != end)
    throw Error(Code::option_wrong,
                "--sample must be 'latin=N' or 'sobol=N' with a number of rows, found '" + text + "'");
  sampling.kind = word == "sobol" ? studies::Design::Kind::sobol : studies::Design::Kind::latin;
  if (read.ec != std::errc{}) sampling.rows = studies::most_rows + 1;
  return sampling;
}

AskedInput input_of(const Invocation& wanted, const tile::CaseTemplate& cases, const std::string& text) {
  const input::Variation variation = input::read_variation(text);
  const input::Spacing spacing = wanted.spacing == "log"      ? input::Spacing::logarithmic
                                 : wanted.spacing == "linear" ? input::Spacing::linear
                                                              : input::Spacing::automatic;
  AskedInput one{cases.value_at(variation.path), {}};
  one.range = input::read_value_range(variation.range, one.varied.type, wanted.points, spacing);
  return one;
}

studies::Design sampled(const std::vector<AskedInput>& inputs, const Sampling& sampling, std::uint64_t seed) {
  std::vector<studies::SampledRange> ranges;
  for (const AskedInput& one : inputs) {
    if (one.range.spacing == input::Spacing::automatic)
      throw Error(Code::option_wrong,
                  "samples are drawn from a range such as '1..5', and '" + one.varied.path + "' has a list");
    ranges.push_back(
        {one.range.values_si.front(), one.range.values_si.back(), one.range.spacing == input::Spacing::logarithmic});
  }
  return sampling.kind == studies::Design::Kind::sobol ? studies::Design::sobol(std::move(ranges), sampling.rows)
                                                       : studies::Design::latin(std::move(ranges), sampling.rows, seed);
}

/// A tile that the answers can be named by: what a value adds to the case is in every row or in none.
tile::TileSystem first_tile(const AskedSweep& asked, const tile::CaseTemplate& cases) {
  constexpr long long most_tries = 64;
  for (long long row = 0; row < std::min(asked.design.rows(), most_tries); ++row) {
    const std::vector<double> values = asked.design.row(row);
    std::vector<tile::Override> overrides;
    for (std::size_t i = 0; i < values.size(); ++i) overrides.emplace_back(asked.inputs[i].varied.path, values[i]);
    try {
      return tile::TileSystem(cases.with(overrides).description);
    } catch (const Error& error) {
      constexpr int fault_of_ours = 4;
      if (error.exit_status() == fault_of_ours) throw;
    }
  }
  return tile::TileSystem(cases.as_written().description);
}

}  // namespace

AskedSweep asked_sweep(const Invocation& wanted, const tile::CaseTemplate& cases) {
  AskedSweep asked;
  for (const std::string& text : wanted.vary) {
    asked.inputs.push_back(input_of(wanted, cases, text));
    const std::string& path = asked.inputs.back().varied.path;
    const auto same = std::count_if(asked.inputs.begin(), asked.inputs.end(),
                                    [&](const AskedInput& one) { return one.varied.path == path; });
    if (same > 1) throw Error(Code::option_wrong, "'" + path + "' is varied twice");
  }
  asked.seed = wanted.seed;
  if (wanted.sample.empty()) {
    std::vector<std::vector<double>> values;
    for (const AskedInput& one : asked.inputs) values.push_back(one.range.values_si);
    asked.design = studies::Design::grid(std::move(values));
  } else {
    asked.design = sampled(asked.inputs, sampling_of(wanted.sample), wanted.seed);
  }
  const studies::Question question =
      wanted.ask.empty() ? studies::Question::steady : studies::question_named(wanted.ask);
  const tile::TileSystem system = first_tile(asked, cases);
  asked.answers.emplace(system, question, wanted.outputs);
  for (const studies::AnswerField& field : asked.answers->fields()) {
    for (const AskedInput& one : asked.inputs) {
      if (one.varied.path == field.name)
        throw Error(Code::internal, "an input and an answer share the name '" + field.name + "'");
    }
  }
  return asked;
}

AnswerSpread answer_spread(const std::vector<double>& values) {
  AnswerSpread spread;
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (std::isnan(values[i])) continue;
    const auto row = static_cast<long long>(i);
    if (spread.values == 0 || values[i] < spread.least) spread.least = values[i], spread.least_row = row;
    if (spread.values == 0 || values[i] > spread.most) spread.most = values[i], spread.most_row = row;
    ++spread.values;
    spread.mean += (values[i] - spread.mean) / static_cast<double>(spread.values);
  }
  return spread;
}

}  // namespace tileflux::cli
