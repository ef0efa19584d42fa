#pragma once
/// Which values the inputs of a study take together: a grid, a Latin hypercube, a Sobol sequence.

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

namespace tileflux::studies {

/// More rows than this are a slip, not a wish.
inline constexpr long long most_rows = 2'000'000;
/// Inputs that one design varies at most.
inline constexpr std::size_t most_varied = 100;

/// A range that samples are drawn from, evenly over the value or over its logarithm.
struct SampledRange {
  double from = 0.0, to = 1.0;
  bool logarithmic = false;

  /// The value at a share of the range, 0 to 1.
  double at(double share) const;
};

/// Rows of values, one per input. The same on every machine for the same arguments.
class Design {
 public:
  enum class Kind { grid, latin, sobol };

  /// Every combination; the last input varies fastest. Throws Error: count_out_of_bounds for no value of an input, more
  /// than most_varied inputs or most_rows rows.
  static Design grid(std::vector<std::vector<double>> values);

  /// Latin hypercube (McKay, Beckman & Conover 1979, Technometrics 21, 239): each range in as many strata as there are
  /// rows, one row in each stratum of each range. Throws Error(count_out_of_bounds) likewise, also for no row.
  static Design latin(std::vector<SampledRange> ranges, long long rows, std::uint64_t seed);

  /// The first points of the Sobol sequence, its zero included, with the direction numbers of Joe & Kuo (2008, SIAM
  /// Journal on Scientific Computing 30, 2635) as Boost.Random has them. Most even where `rows` is a power of two.
  static Design sobol(std::vector<SampledRange> ranges, long long rows);

  Kind kind() const { return kind_; }
  long long rows() const { return rows_; }
  std::size_t inputs() const { return inputs_; }
  /// Of a grid, the number of values of each input; empty for samples.
  std::vector<std::size_t> shape() const;
  /// Of a grid, the values of an input.
  const std::vector<double>& values(std::size_t input) const { return values_[input]; }
  std::vector<double> row(long long index) const;

 private:
  Kind kind_ = Kind::grid;
  long long rows_ = 0;
  std::size_t inputs_ = 0;
  std::vector<std::vector<double>> values_;  ///< of a grid by input
  std::vector<double> samples_;              ///< row by row
};
std::string_view name_of(Design::Kind kind);

/// Evenly spread shares in [0, 1) from the bits of std::mt19937_64, whose sequence the standard fixes.
std::vector<double> even_shares(std::size_t count, std::uint64_t seed);

}  // namespace tileflux::studies
