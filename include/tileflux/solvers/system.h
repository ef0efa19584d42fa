#pragma once
/// The only thing a solver knows of the physics: a square system F(t, x, dx/dt) = 0 with an exact sparse Jacobian.

#include <cstdint>
#include <span>
#include <string>
#include <utility>
#include <vector>

namespace tileflux::solvers {

/// The fixed positions of the Jacobian's non-zeros, by compressed columns (rows rise within a column).
struct Pattern {
  int size = 0;
  std::vector<int> column_start;  ///< size + 1 entries
  std::vector<int> row;

  int nonzeros() const { return static_cast<int>(row.size()); }

  /// Position of (row, column) in `row`, or -1.
  int position(int row_index, int column_index) const;

  /// The pattern that holds the given positions and the whole diagonal.
  static Pattern from_positions(int size, const std::vector<std::pair<int, int>>& row_and_column);
};

/// F(t, x, rate) with as many equations as unknowns. For an unknown that is `differential`, its own equation holds its
/// own rate linearly and no other rate: F_i = f_i(t, x) - c_i(x) rate_i with c_i > 0. The other equations hold no rate.
/// Here F is in watts (heat into a node minus heat stored) and x in kelvin.
class System {
 public:
  virtual ~System() = default;

  virtual int size() const = 0;
  virtual const Pattern& pattern() const = 0;

  /// 1 where the unknown has a rate, 0 where its equation is algebraic. Length size().
  virtual std::span<const std::uint8_t> differential() const = 0;

  /// Evaluates F. Returns false where the state lies outside what the laws can take (a temperature that is not
  /// positive); the solver then tries a shorter step. Throws only on what cannot be mended by one.
  virtual bool residual(double time_s, std::span<const double> x, std::span<const double> rate,
                        std::span<double> residual) const = 0;

  /// dF/dx + rate_factor dF/drate at the positions of pattern().
  virtual void jacobian(double time_s, std::span<const double> x, std::span<const double> rate, double rate_factor,
                        std::span<double> values) const = 0;

  /// c_i of every differential unknown, 0 for the others. As it stands here it costs two residuals.
  virtual void rate_coefficients(double time_s, std::span<const double> x, std::span<double> coefficients) const;

  /// Whether F depends on time itself between the instants at which a solver is stopped.
  virtual bool varies_in_time() const { return true; }

  /// What a person calls this unknown.
  virtual std::string unknown_name(int index) const = 0;
};

/// Functions of the state whose zeros a transient must find exactly.
class Watch {
 public:
  virtual ~Watch() = default;
  virtual int count() const = 0;
  virtual void evaluate(double time_s, std::span<const double> x, std::span<double> values) const = 0;
};

/// Functions of the state that a transient integrates along with it.
class Integrands {
 public:
  virtual ~Integrands() = default;
  virtual int count() const = 0;
  virtual void evaluate(double time_s, std::span<const double> x, std::span<double> values) const = 0;
};

}  // namespace tileflux::solvers
