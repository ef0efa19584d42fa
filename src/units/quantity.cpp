#include "tileflux/units/quantity.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <system_error>
#include <utility>

#include "units/characters.h"
#include "units/dimension_name.h"
#include "units/unit_database.h"
#include "units/unit_text.h"

namespace tileflux::units {

namespace {

std::string in_quotes(std::string_view text) { return '\'' + std::string(text) + '\''; }

/// `a length such as '1 mm'`
std::string expectation(const Dimension& dimension) {
  const DimensionName name = name_of(dimension);
  return name.name + " such as '" + name.example + '\'';
}

struct Number {
  double value = 0.0;
  std::size_t end = 0;
  std::optional<Parsed> fault;
};

Parsed refuse(Code code, std::string message, std::size_t offset) {
  return {std::nullopt, code, std::move(message), static_cast<int>(offset)};
}

bool says_not_finite(std::string_view text) {
  std::string word;
  for (const char c : text.substr(0, 3)) word += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  return word == "nan" || word == "inf";
}

bool begins_number(std::string_view text) {
  if (text.starts_with('.')) text.remove_prefix(1);
  return !text.empty() && is_digit(text[0]);
}

/// What is wrong with a number that was read up to `end`, judged by what follows it.
std::optional<Parsed> fault_behind_number(std::string_view text, std::size_t end) {
  const std::string_view rest = text.substr(end);
  if (rest.empty()) return std::nullopt;
  if (rest[0] == ',') {
    return refuse(
        Code::number_malformed,
        "a comma in the number " + in_quotes(text) + ": write a decimal point, and no marks between thousands", end);
  }
  constexpr std::string_view broken = "._'^+-";
  const bool open_exponent = (rest[0] == 'e' || rest[0] == 'E') && (rest.size() == 1 || !is_letter(rest[1]));
  if (broken.find(rest[0]) == std::string_view::npos && !open_exponent) return std::nullopt;
  return refuse(Code::number_malformed,
                "the number in " + in_quotes(text) + " ends oddly after " + in_quotes(text.substr(0, end)), end);
}

/// The number at the beginning of the text, which has no leading blanks.
Number read_number(std::string_view text, const Dimension& dimension) {
  Number number;
  const auto fail = [&](Code code, std::string message) {
    number.fault = refuse(code, std::move(message), 0);
    return number;
  };
  const std::size_t plus = text.starts_with('+') ? 1 : 0;
  const std::string_view unsigned_text = text.substr(text.starts_with('-') ? 1 : plus);
  if (says_not_finite(unsigned_text)) {
    return fail(Code::number_not_finite, "expected a finite number, found " + in_quotes(text));
  }
  if (!begins_number(unsigned_text)) {
    return fail(Code::number_malformed, "expected " + expectation(dimension) + ", found " + in_quotes(text));
  }
  if (unsigned_text.starts_with("0x") || unsigned_text.starts_with("0X")) {
    return fail(Code::number_malformed, "hexadecimal numbers are not read, found " + in_quotes(text));
  }
  const auto [end, error] = std::from_chars(text.data() + plus, text.data() + text.size(), number.value);
  if (error != std::errc{}) {
    return fail(Code::number_not_finite, "the number in " + in_quotes(text) + " is beyond the numbers of the machine");
  }
  number.end = static_cast<std::size_t>(end - text.data());
  number.fault = fault_behind_number(text, number.end);
  return number;
}

Meaning meaning_of_field(const Dimension& dimension) {
  if (dimension.si_unit == "1") return {};
  Resolved resolved = resolve_unit(dimension.si_unit);
  if (resolved.fault)
    throw Error(Code::internal,
                "a field expects the unit '" + std::string(dimension.si_unit) + "': " + resolved.fault->message);
  return resolved.meaning;
}

Parsed finite_or_refused(double value, std::string_view text) {
  if (!std::isfinite(value))
    return refuse(Code::number_not_finite, in_quotes(text) + " in SI units is beyond the numbers of the machine", 0);
  return {value, Code::internal, {}, 0};
}

/// A number that is not followed by a unit, or only by %, where none is expected.
Parsed dimensionless(double value, std::string_view unit, std::string_view text, std::size_t offset) {
  if (unit.empty()) return finite_or_refused(value, text);
  if (unit == "%") return finite_or_refused(value / 100.0, text);
  return refuse(Code::unit_unexpected, "expected a plain number or one in %, found " + in_quotes(text), offset);
}

Parsed parse_plain(std::string_view text, const Dimension& dimension) {
  if (text.empty()) return refuse(Code::number_malformed, "expected " + expectation(dimension) + ", found nothing", 0);
  Number number = read_number(text, dimension);
  if (number.fault) return *number.fault;
  const std::size_t unit_begin = std::min(text.find_first_not_of(" \t", number.end), text.size());
  const std::string_view unit = text.substr(unit_begin);
  const bool second_number = !unit.empty() && is_digit(unit[0]) && !unit.starts_with("1/") && !unit.starts_with("1 /");
  if (second_number)
    return refuse(Code::number_malformed,
                  "a second number follows the first in " + in_quotes(text) + ": write one number without blanks",
                  unit_begin);
  if (dimension.si_unit == "1") return dimensionless(number.value, unit, text, unit_begin);
  if (unit.empty()) {
    const DimensionName name = name_of(dimension);
    return refuse(Code::unit_missing,
                  "expected " + name.name + ", found " + in_quotes(text) +
                      " without a unit: write the unit, for example '" + name.example + '\'',
                  0);
  }
  if (unit[0] == '/')
    return refuse(Code::unit_malformed,
                  "a unit does not begin with a slash: write " + in_quotes("1" + std::string(unit)), unit_begin);
  const Resolved resolved = resolve_unit(unit);
  if (resolved.fault)
    return refuse(resolved.fault->code, resolved.fault->message,
                  unit_begin + static_cast<std::size_t>(resolved.fault->offset));
  const Meaning& meaning = resolved.meaning;
  const Meaning field = meaning_of_field(dimension);
  if (meaning.powers != field.powers) {
    std::string message = "expected " + expectation(dimension) + ", found " + in_quotes(text) + " (" +
                          name_of_powers(meaning.powers) + ')';
    if (unit == "C" && dimension.si_unit == "K") message += ": C is the coulomb, write degC";
    return refuse(Code::dimension_wrong, message, unit_begin);
  }
  const double offset = dimension.kind == Kind::value ? meaning.offset : 0.0;
  return finite_or_refused((number.value * meaning.factor + offset - field.offset) / field.factor, text);
}

}  // namespace

Parsed parse_quantity(std::string_view text, const Dimension& dimension) {
  constexpr std::string_view blanks = " \t\r\n";
  const std::size_t begin = std::min(text.find_first_not_of(blanks), text.size());
  text = text.substr(begin, text.find_last_not_of(blanks) + 1 - begin);
  if (text.size() > longest_text_bytes) {
    return refuse(Code::number_malformed,
                  "expected " + expectation(dimension) + ", found a text longer than 64 characters", begin);
  }
  const KeyboardText keyboard = to_keyboard(text);
  Parsed parsed = parse_plain(keyboard.text, dimension);
  const std::size_t plain_offset = std::min(static_cast<std::size_t>(parsed.offset), keyboard.offsets.size() - 1);
  parsed.offset = parsed.value_si ? 0 : static_cast<int>(begin) + keyboard.offsets[plain_offset];
  return parsed;
}

Scale scale_to_si(std::string_view unit, std::string_view si_unit) {
  const auto meaning_of = [](std::string_view text) {
    if (text == "1") return Meaning{};
    const Resolved resolved = resolve_unit(to_keyboard(text).text);
    if (resolved.fault) throw Error(resolved.fault->code, resolved.fault->message);
    return resolved.meaning;
  };
  const Meaning meaning = meaning_of(unit);
  const Meaning si = meaning_of(si_unit);
  if (meaning.powers != si.powers) {
    throw Error(Code::dimension_wrong, "expected a unit of " + name_of_powers(si.powers) + ", found '" +
                                           std::string(unit) + "' (" + name_of_powers(meaning.powers) + ')');
  }
  return {meaning.factor / si.factor, (meaning.offset - si.offset) / si.factor};
}

}  // namespace tileflux::units
