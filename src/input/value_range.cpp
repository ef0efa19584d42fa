#include "tileflux/input/value_range.h"

#include <charconv>
#include <cmath>

#include "input/wording.h"

namespace tileflux::input {

namespace {

std::string_view trimmed(std::string_view text) {
  const std::size_t begin = text.find_first_not_of(" \t");
  if (begin == std::string_view::npos) return {};
  return text.substr(begin, text.find_last_not_of(" \t") - begin + 1);
}

std::vector<std::string_view> parted(std::string_view text, std::string_view by) {
  std::vector<std::string_view> parts;
  for (std::size_t end = text.find(by); end != std::string_view::npos; end = text.find(by)) {
    parts.push_back(trimmed(text.substr(0, end)));
    text.remove_prefix(end + by.size());
  }
  parts.push_back(trimmed(text));
  return parts;
}

/// What stands behind the number.
std::string_view unit_of(std::string_view text) {
  const std::size_t sign = text.starts_with('+') ? 1 : 0;
  double number = 0.0;
  const auto read = std::from_chars(text.data() + sign, text.data() + text.size(), number);
  return trimmed(text.substr(static_cast<std::size_t>(read.ptr - text.data())));
}

double value_of(std::string_view part, std::string_view last_unit, const QuantityType& type, std::string_view whole) {
  std::string text(part);
  if (unit_of(part).empty() && !last_unit.empty()) text += ' ' + std::string(last_unit);
  const units::Parsed parsed = units::parse_quantity(text, type.dimension);
  if (!parsed.value_si) throw Error(parsed.code, "in " + in_quotes(whole) + ": " + parsed.message);
  if (!is_within(*parsed.value_si, type.range))
    throw Error(Code::value_out_of_range, "in " + in_quotes(whole) + ": expected " +
                                              range_text(type.range, type.dimension.si_unit) + ", found " +
                                              in_quotes(text));
  return *parsed.value_si;
}

std::vector<double> spaced(double from, double to, int points, Spacing spacing) {
  std::vector<double> values{from};
  for (int i = 1; i + 1 < points; ++i) {
    const double share = static_cast<double>(i) / (points - 1);
    values.push_back(spacing == Spacing::logarithmic ? from * std::exp(share * std::log(to / from))
                                                     : from + share * (to - from));
  }
  values.push_back(to);
  return values;
}

void fill_range(ValueRange& range, const std::vector<double>& ends, int points, Spacing spacing,
                std::string_view text) {
  const double from = ends[0], to = ends[1];
  if (from == to) throw Error(Code::option_wrong, "the range " + in_quotes(text) + " is empty: both ends are the same");
  if (from > to)
    throw Error(Code::option_wrong, "the range " + in_quotes(text) + " runs backwards: say the smaller end first");
  if (points < 2 || points > most_values)
    throw Error(Code::count_out_of_bounds,
                "expected 2 to " + std::to_string(most_values) + " points, found " + std::to_string(points));
  if (spacing == Spacing::logarithmic && from <= 0.0)
    throw Error(Code::option_wrong, "logarithmic spacing needs a range above zero, found " + in_quotes(text));
  if (spacing == Spacing::automatic)
    spacing = from > 0.0 && to / from > most_linear_ratio ? Spacing::logarithmic : Spacing::linear;
  range.spacing = spacing;
  range.values_si = spaced(from, to, points, spacing);
}

}  // namespace

Variation read_variation(std::string_view text) {
  const std::size_t equals = text.find('=');
  if (equals == std::string_view::npos || trimmed(text.substr(0, equals)).empty() ||
      trimmed(text.substr(equals + 1)).empty())
    throw Error(Code::option_wrong,
                "expected the path of a value, `=` and a range, such as 'sun.distance=0.3..5AU', "
                "found " +
                    in_quotes(text));
  return {std::string(trimmed(text.substr(0, equals))), std::string(trimmed(text.substr(equals + 1)))};
}

ValueRange read_value_range(std::string_view text, const QuantityType& type, int points, Spacing spacing) {
  const bool list = text.find("..") == std::string_view::npos;
  const std::vector<std::string_view> parts = parted(text, list ? "," : "..");
  for (const std::string_view part : parts) {
    if (part.empty() || (!list && parts.size() != 2))
      throw Error(Code::option_wrong,
                  "expected a range such as '1..5' or a list such as '1, 2, 5', each with a unit at "
                  "its end, found " +
                      in_quotes(text));
  }
  ValueRange range;
  const std::string_view last_unit = unit_of(parts.back());
  std::vector<double> values;
  if (parts.size() > static_cast<std::size_t>(most_values))
    throw Error(Code::count_out_of_bounds,
                "expected at most " + std::to_string(most_values) + " values, found " + std::to_string(parts.size()));
  for (const std::string_view part : parts) values.push_back(value_of(part, last_unit, type, text));
  range.unit = last_unit.empty() ? "1" : std::string(last_unit);
  range.scale = units::scale_to_si(range.unit, type.dimension.si_unit);
  if (type.dimension.kind == units::Kind::difference) range.scale.offset = 0.0;
  if (!list) {
    fill_range(range, values, points, spacing, text);
    return range;
  }
  for (std::size_t i = 1; i < values.size(); ++i) {
    if (values[i] <= values[i - 1])
      throw Error(Code::option_wrong, "the list " + in_quotes(text) + " must rise from value to value");
  }
  range.values_si = std::move(values);
  return range;
}

}  // namespace tileflux::input
