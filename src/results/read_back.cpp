#include "tileflux/results/read_back.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <utility>

#include "results/netcdf_reader.h"
#include "tileflux/base/errors.h"

namespace tileflux::results {

namespace {

constexpr std::size_t most_series_columns = 100'000;
constexpr std::size_t longest_part_name = 1u << 16;
constexpr std::size_t most_letters = 1u << 26;

[[noreturn]] void refuse_size(const std::filesystem::path& file, const std::string& what) {
  Diagnostic diagnostic;
  diagnostic.code = Code::text_too_large;
  diagnostic.place.file = file.string();
  diagnostic.message = what;
  throw Error(std::move(diagnostic));
}

/// Least and most of a column, and in which rows.
struct ColumnRange {
  double least = std::numeric_limits<double>::infinity(), most = -std::numeric_limits<double>::infinity();
  std::size_t least_row = 0, most_row = 0;

  void meet(double value, std::size_t row) {
    if (value < least) least = value, least_row = row;
    if (value > most) most = value, most_row = row;
  }
};

/// Reads a series block by block.
class SeriesReader {
 public:
  explicit SeriesReader(const std::filesystem::path& file) : file_(file), source_(file) { find_columns(); }

  SeriesTable read(long long most_rows) {
    SeriesTable table = head_;
    table.rows_in_file = static_cast<long long>(rows_);
    const std::size_t fitting = most_numbers / (1 + parts_ + scalars_.size());
    const std::vector<std::size_t> kept =
        kept_rows(std::clamp<std::size_t>(static_cast<std::size_t>(std::max(2LL, most_rows)), 2, 2 + fitting));
    for (auto next = kept.begin(); next != kept.end();) {
      const std::size_t block = *next / rows_at_once_;
      const Block read = block_of(block);
      for (; next != kept.end() && *next / rows_at_once_ == block; ++next) take(table, read, *next % rows_at_once_);
    }
    check_times(table.times_s);
    return table;
  }

 private:
  static constexpr std::size_t most_numbers = 20'000'000;  ///< in memory at the end
  static constexpr std::size_t numbers_at_once = std::size_t{1} << 20;

  struct Block {
    std::vector<double> times_s, temperatures_K;
    std::vector<std::vector<double>> scalars;
  };

  void find_columns() {
    time_ = source_.variable("time");
    temperature_ = source_.variable("temperature");
    const std::vector<std::size_t> times = source_.shape(time_), both = source_.shape(temperature_);
    if (times.size() != 1 || both.size() != 2 || both[0] != times[0])
      source_.damaged("temperature does not go over time and part");
    rows_ = times[0];
    parts_ = both[1];
    if (rows_ == 0 || parts_ == 0) source_.damaged("the series is empty");
    if (parts_ > most_series_columns) refuse_size(file_, fmt::format("{} parts are more than can be told", parts_));
    rows_at_once_ = std::max<std::size_t>(1, numbers_at_once / parts_);
    read_names();
    for (int variable = 0; variable < source_.variables(); ++variable) {
      if (variable == time_ || variable == temperature_ || !source_.is_number(variable)) continue;
      if (source_.shape(variable) != times)
        source_.damaged("'" + source_.name(variable) + "' does not go over the times of the series");
      head_.scalars.push_back(
          {source_.name(variable), source_.text(variable, "units"), source_.text(variable, "long_name"), {}});
      scalars_.push_back(variable);
    }
    if (scalars_.size() > most_series_columns) refuse_size(file_, "more scalars than can be told");
    head_.title = source_.title();
  }

  void read_names() {
    const int names = source_.variable("part_name");
    const std::vector<std::size_t> sizes = source_.shape(names);
    if (sizes.size() != 2 || sizes[0] != parts_) source_.damaged("there is not one name for each part");
    if (sizes[1] > longest_part_name || sizes[0] * sizes[1] > most_letters)
      refuse_size(file_, "the names of the parts are too long");
    const std::string letters = source_.all_letters(names);
    for (std::size_t part = 0; part < parts_; ++part) {
      const std::string padded = letters.substr(part * sizes[1], sizes[1]);
      head_.parts.push_back(padded.substr(0, padded.find('\0')));
    }
  }

  Block block_of(std::size_t block) const {
    const std::size_t first = block * rows_at_once_, count = std::min(rows_at_once_, rows_ - first);
    Block read{source_.numbers(time_, first, count), source_.numbers(temperature_, first, count), {}};
    for (const int variable : scalars_) read.scalars.push_back(source_.numbers(variable, first, count));
    return read;
  }

  /// Rows to keep, rising. A file that is not too long is not read twice.
  std::vector<std::size_t> kept_rows(std::size_t most_rows) const {
    std::set<std::size_t> kept;
    if (rows_ > most_rows) {
      std::vector<ColumnRange> ranges(parts_ + scalars_.size());
      for (std::size_t block = 0; block * rows_at_once_ < rows_; ++block) meet(ranges, block_of(block), block);
      for (const ColumnRange& range : ranges) kept.insert({range.least_row, range.most_row});
    }
    const std::size_t stride = (rows_ + most_rows - 1) / most_rows;
    for (std::size_t row = 0; row < rows_; row += stride) kept.insert(row);
    kept.insert(rows_ - 1);
    return {kept.begin(), kept.end()};
  }

  void meet(std::vector<ColumnRange>& ranges, const Block& read, std::size_t block) const {
    for (std::size_t i = 0; i < read.times_s.size(); ++i) {
      const std::size_t row = block * rows_at_once_ + i;
      for (std::size_t p = 0; p < parts_; ++p) ranges[p].meet(read.temperatures_K[i * parts_ + p], row);
      for (std::size_t s = 0; s < scalars_.size(); ++s) ranges[parts_ + s].meet(read.scalars[s][i], row);
    }
  }

  void take(SeriesTable& table, const Block& read, std::size_t i) const {
    table.times_s.push_back(read.times_s[i]);
    const auto begin = read.temperatures_K.begin() + static_cast<std::ptrdiff_t>(i * parts_);
    table.temperatures_K.insert(table.temperatures_K.end(), begin, begin + static_cast<std::ptrdiff_t>(parts_));
    for (std::size_t s = 0; s < scalars_.size(); ++s) table.scalars[s].values.push_back(read.scalars[s][i]);
  }

  void check_times(const std::vector<double>& times_s) const {
    for (std::size_t i = 0; i < times_s.size(); ++i) {
      if (!std::isfinite(times_s[i]) || (i > 0 && times_s[i] <= times_s[i - 1]))
        source_.damaged("its times do not rise from row to row");
    }
  }

  std::filesystem::path file_;
  NetcdfReader source_;
  SeriesTable head_;
  std::size_t rows_ = 0, parts_ = 0, rows_at_once_ = 1;
  int time_ = -1, temperature_ = -1;
  std::vector<int> scalars_;
};

std::vector<std::string> flag_words(const std::string& text) {
  std::vector<std::string> words;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find(' ', begin), text.size());
    if (end > begin) words.push_back(text.substr(begin, end - begin));
    begin = end + 1;
  }
  return words;
}

bool is_coordinate(const NetcdfReader& source, int variable) {
  const std::vector<std::string> dimensions = source.dimension_names(variable);
  return dimensions.size() == 1 && dimensions[0] == source.name(variable);
}

}  // namespace

SeriesTable read_series(const std::filesystem::path& file, long long most_rows) {
  return SeriesReader(file).read(most_rows);
}

AnswersTable read_answers(const std::filesystem::path& file, long long most_values) {
  const NetcdfReader source(file);
  AnswersTable table;
  table.title = source.title();
  const int trouble = source.variable("trouble");
  const std::vector<std::string> dimensions = source.dimension_names(trouble);
  const std::vector<std::size_t> shape = source.shape(trouble);
  table.grid = !(dimensions.size() == 1 && dimensions[0] == "sample");
  table.rows = 1;
  for (const std::size_t size : shape) {
    if (size == 0 || static_cast<long long>(size) > most_values / table.rows)
      size == 0 ? source.damaged("it holds no row") : refuse_size(file, "more rows than can be told");
    table.rows *= static_cast<long long>(size);
  }
  if (source.variables() > static_cast<int>(most_series_columns) ||
      static_cast<long long>(source.variables()) > most_values / table.rows)
    refuse_size(file, fmt::format("{} rows of {} variables are more than can be told", table.rows, source.variables()));
  for (const double code : source.all_numbers(trouble)) {
    if (code > 0.0) ++table.without_answer;
    if (code < 0.0) ++table.not_solved;
  }
  for (const std::string& dimension : dimensions) {
    if (!table.grid) break;
    const int variable = source.variable(dimension);
    table.varied.push_back({dimension, source.text(variable, "units"), source.all_numbers(variable)});
  }
  for (int variable = 0; variable < source.variables(); ++variable) {
    if (variable == trouble || (table.grid && is_coordinate(source, variable))) continue;
    if (source.shape(variable) != shape)
      source.damaged("'" + source.name(variable) + "' has not one value for each row");
    table.answers.push_back({source.name(variable), source.text(variable, "units"), source.text(variable, "long_name"),
                             flag_words(source.text(variable, "flag_meanings")), source.all_numbers(variable)});
  }
  if (table.answers.empty()) source.damaged("it holds no answer");
  return table;
}

}  // namespace tileflux::results
