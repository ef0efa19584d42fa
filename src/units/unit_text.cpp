#include "units/unit_text.h"

#include <array>
#include <cstdlib>
#include <span>
#include <utility>

#include "units/characters.h"

namespace tileflux::units {

namespace {

constexpr int highest_power = 12;

struct Sign {
  std::string_view print;
  std::string_view keyboard;
};

constexpr std::array signs{
    Sign{"\u00B5", "u"},   Sign{"\u03BC", "u"},   Sign{"\u00B0", "deg"}, Sign{"\u00B7", "."}, Sign{"\u22C5", "."},
    Sign{"\u03A9", "ohm"}, Sign{"\u2126", "ohm"}, Sign{"\u2212", "-"},   Sign{"\u00A0", " "}, Sign{"\u202F", " "},
};
constexpr std::array superscripts{
    Sign{"\u00B9", "1"}, Sign{"\u00B2", "2"}, Sign{"\u00B3", "3"}, Sign{"\u2074", "4"}, Sign{"\u2075", "5"},
    Sign{"\u2076", "6"}, Sign{"\u2077", "7"}, Sign{"\u2078", "8"}, Sign{"\u2079", "9"}, Sign{"\u207B", "-"},
};

const Sign* sign_at(std::string_view text, std::span<const Sign> list) {
  for (const Sign& sign : list) {
    if (text.starts_with(sign.print)) return &sign;
  }
  return nullptr;
}

bool is_in_symbol(char c) { return is_letter(c) || c == '_' || c == '%'; }

class UnitReader {
 public:
  explicit UnitReader(std::string_view text) : text_(text) {}

  UnitText read() {
    UnitText result;
    try {
      if (text_.empty()) fail(Code::unit_malformed, "there is no unit", 0);
      const bool reciprocal = text_.starts_with("1/") || text_.starts_with("1 /");
      if (reciprocal) position_ = text_.find('/');
      result.factors = product(reciprocal);
      if (position_ < text_.size())
        fail(Code::unit_malformed, "a closing parenthesis without an opening one in " + in_quotes(), position_);
    } catch (UnitFault& fault) {
      result.factors.clear();
      result.fault = std::move(fault);
    }
    return result;
  }

 private:
  [[noreturn]] static void fail(Code code, std::string message, std::size_t offset) {
    throw UnitFault{code, std::move(message), static_cast<int>(offset)};
  }

  std::string in_quotes() const { return '\'' + std::string(text_) + '\''; }
  bool at_end() const { return position_ >= text_.size(); }
  char here() const { return at_end() ? '\0' : text_[position_]; }

  /// Factors up to the end or the closing parenthesis. With `reciprocal` the text stands at the slash of `1/...`.
  std::vector<UnitFactor> product(bool reciprocal) {
    const std::size_t begin = position_;
    std::vector<UnitFactor> factors;
    if (!reciprocal) factors = factor();
    std::size_t slash = std::string_view::npos;
    while (true) {
      const bool blank = skip_blanks();
      if (at_end() || here() == ')') return factors;
      const std::size_t joint = position_;
      const bool divides = here() == '/';
      if (slash != std::string_view::npos) ambiguous(reciprocal ? 0 : begin, slash, joint);
      if (divides) slash = joint;
      if (divides || here() == '.' || here() == '*') {
        ++position_;
        skip_blanks();
      } else if (!blank) {
        unexpected();
      }
      std::vector<UnitFactor> more = factor();
      for (UnitFactor& one : more) {
        if (divides) one.power = -one.power;
        factors.push_back(std::move(one));
      }
    }
  }

  std::vector<UnitFactor> factor() {
    std::vector<UnitFactor> factors;
    const std::size_t begin = position_;
    if (here() == '(') {
      ++position_;
      skip_blanks();
      factors = product(false);
      if (here() != ')') fail(Code::unit_malformed, "the parenthesis is not closed in " + in_quotes(), begin);
      ++position_;
    } else if (is_in_symbol(here())) {
      while (is_in_symbol(here())) ++position_;
      factors.push_back({std::string(text_.substr(begin, position_ - begin)), 1, static_cast<int>(begin)});
    } else {
      unexpected();
    }
    const int power = exponent();
    for (UnitFactor& one : factors) {
      one.power *= power;
      if (std::abs(one.power) > highest_power)
        fail(Code::unit_malformed, "the power of '" + one.name + "' is too high in " + in_quotes(), begin);
    }
    return factors;
  }

  int exponent() {
    const std::size_t begin = position_;
    const std::string_view rest = text_.substr(position_);
    bool expected = false;
    if (rest.starts_with("**")) {
      position_ += 2;
      expected = true;
    } else if (rest.starts_with("^")) {
      ++position_;
      expected = true;
    }
    int sign = 1;
    if (here() == '-') {
      sign = -1;
      expected = true;
      ++position_;
    }
    if (!is_digit(here())) {
      if (expected) fail(Code::unit_malformed, "an exponent is missing in " + in_quotes(), begin);
      return 1;
    }
    const int value = here() - '0';
    ++position_;
    if (value == 0 || is_digit(here()))
      fail(Code::unit_malformed, "an exponent is a digit from 1 to 9, unlike in " + in_quotes(), begin);
    return sign * value;
  }

  /// Something follows what stands below the slash: says how to write it with parentheses.
  [[noreturn]] void ambiguous(std::size_t begin, std::size_t slash, std::size_t joint) const {
    int depth = 0;
    std::size_t end = slash;
    while (end < text_.size() && depth >= 0) {
      if (text_[end] == '(') ++depth;
      if (text_[end] == ')') --depth;
      if (depth >= 0) ++end;
    }
    std::string below;
    depth = 0;
    for (const char c : text_.substr(slash + 1, end - slash - 1)) {
      if (c == '(') ++depth;
      if (c == ')') --depth;
      const char kept = c == '/' && depth == 0 ? ' ' : c;
      if (kept != ' ' || (!below.empty() && below.back() != ' ')) below += kept;
    }
    while (!below.empty() && below.back() == ' ') below.pop_back();
    std::string above(text_.substr(begin, slash - begin));
    while (!above.empty() && above.back() == ' ') above.pop_back();
    fail(Code::unit_ambiguous, in_quotes() + " can be read in two ways: write '" + above + "/(" + below + ")'", joint);
  }

  [[noreturn]] void unexpected() const {
    if (at_end()) fail(Code::unit_malformed, "the unit " + in_quotes() + " ends too early", position_);
    std::size_t length = 1;
    while (position_ + length < text_.size() &&
           (static_cast<unsigned char>(text_[position_ + length]) & 0xC0u) == 0x80u)
      ++length;
    fail(Code::unit_malformed,
         "'" + std::string(text_.substr(position_, length)) + "' is not expected here in the unit " + in_quotes(),
         position_);
  }

  bool skip_blanks() {
    const std::size_t begin = position_;
    while (here() == ' ') ++position_;
    return position_ > begin;
  }

  std::string_view text_;
  std::size_t position_ = 0;
};

}  // namespace

KeyboardText to_keyboard(std::string_view text) {
  KeyboardText result;
  bool raised = false;
  for (std::size_t i = 0; i < text.size();) {
    const Sign* raised_sign = sign_at(text.substr(i), superscripts);
    const Sign* sign = raised_sign != nullptr ? raised_sign : sign_at(text.substr(i), signs);
    std::string piece = sign == nullptr ? std::string(1, text[i]) : std::string(sign->keyboard);
    if (raised_sign != nullptr && !raised) piece.insert(0, 1, '^');
    raised = raised_sign != nullptr;
    result.text += piece;
    result.offsets.insert(result.offsets.end(), piece.size(), static_cast<int>(i));
    i += sign == nullptr ? 1 : sign->print.size();
  }
  result.offsets.push_back(static_cast<int>(text.size()));
  return result;
}

UnitText read_unit_text(std::string_view text) {
  if (text.size() > longest_text_bytes) {
    return {
        {},
        UnitFault{Code::unit_malformed, "the unit is longer than 64 characters", static_cast<int>(longest_text_bytes)}};
  }
  return UnitReader(text).read();
}

}  // namespace tileflux::units
