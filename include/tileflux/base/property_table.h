#pragma once
/// A property of temperature: a constant, or a table that is linear between its rows.

#include <algorithm>
#include <cstddef>
#include <vector>

#include "tileflux/base/dual.h"
#include "tileflux/base/errors.h"

namespace tileflux {

/// y(T) and its integral. Beyond the ends of a table the end value is held; whoever uses the property asks `covers` and
/// reports it (Code::outside_validity): nothing is extrapolated in silence.
class PropertyTable {
 public:
  /// A constant, said to hold from `valid_from_K` to `valid_to_K`.
  explicit PropertyTable(double value = 0.0, double valid_from_K = 0.0, double valid_to_K = 1e9)
      : value_{value}, valid_from_K_(valid_from_K), valid_to_K_(valid_to_K) {}

  /// Rows of temperature (rising, K) and value. Throws Error(table_not_rising) or Error(table_shape).
  PropertyTable(std::vector<double> temperature_K, std::vector<double> value)
      : temperature_K_(std::move(temperature_K)), value_(std::move(value)) {
    if (temperature_K_.size() != value_.size() || value_.size() < 2)
      throw Error(Code::table_shape, "a table needs two rows or more of two columns");
    integral_.assign(value_.size(), 0.0);
    for (std::size_t i = 1; i < value_.size(); ++i) {
      const double width = temperature_K_[i] - temperature_K_[i - 1];
      if (!(width > 0.0)) throw Error(Code::table_not_rising, "temperatures of a table must rise from row to row");
      integral_[i] = integral_[i - 1] + 0.5 * width * (value_[i] + value_[i - 1]);
    }
    valid_from_K_ = temperature_K_.front();
    valid_to_K_ = temperature_K_.back();
  }

  bool constant() const { return temperature_K_.empty(); }
  bool covers(double temperature_K) const { return temperature_K >= valid_from_K_ && temperature_K <= valid_to_K_; }
  double valid_from_K() const { return valid_from_K_; }
  double valid_to_K() const { return valid_to_K_; }
  const std::vector<double>& temperatures_K() const { return temperature_K_; }
  const std::vector<double>& values() const { return value_; }

  /// The same property times a factor (a mass, an area over a length).
  PropertyTable scaled(double factor) const {
    PropertyTable copy = *this;
    for (double& v : copy.value_) v *= factor;
    for (double& v : copy.integral_) v *= factor;
    return copy;
  }

  template <class Scalar>
  Scalar value(const Scalar& temperature_K) const {
    if (constant()) return Scalar(value_[0]);
    if (value_of(temperature_K) <= temperature_K_.front()) return Scalar(value_.front());
    if (value_of(temperature_K) >= temperature_K_.back()) return Scalar(value_.back());
    const std::size_t i = row(value_of(temperature_K));
    return Scalar(value_[i] + slope(i) * (temperature_K - temperature_K_[i]));
  }

  /// The integral of y dT from a fixed lower end (the first row; 0 K for a constant) to T. Differences of it are exact.
  template <class Scalar>
  Scalar integral(const Scalar& temperature_K) const {
    if (constant()) return Scalar(value_[0] * temperature_K);
    if (value_of(temperature_K) <= temperature_K_.front())
      return Scalar(value_.front() * (temperature_K - temperature_K_.front()));
    if (value_of(temperature_K) >= temperature_K_.back()) {
      return Scalar(integral_.back() + value_.back() * (temperature_K - temperature_K_.back()));
    }
    const std::size_t i = row(value_of(temperature_K));
    const Scalar part = temperature_K - temperature_K_[i];
    return Scalar(integral_[i] + part * (value_[i] + 0.5 * slope(i) * part));
  }

 private:
  std::size_t row(double temperature_K) const {
    const auto above = std::upper_bound(temperature_K_.begin() + 1, temperature_K_.end() - 1, temperature_K);
    return static_cast<std::size_t>(above - temperature_K_.begin()) - 1;
  }
  double slope(std::size_t i) const {
    return (value_[i + 1] - value_[i]) / (temperature_K_[i + 1] - temperature_K_[i]);
  }

  std::vector<double> temperature_K_;
  std::vector<double> value_;
  std::vector<double> integral_;
  double valid_from_K_ = 0.0;
  double valid_to_K_ = 1e9;
};

}  // namespace tileflux
