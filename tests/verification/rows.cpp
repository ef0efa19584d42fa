#include "verification/rows.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <fstream>
#include <stdexcept>
#include <string_view>
#include <unordered_map>

#include "verification/proofs.h"

namespace tileflux::verification {

bool parse(const std::string& text, double& value) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  return error == std::errc{} && end == text.data() + text.size();
}

namespace {

/// The cells of a line of comma-separated values with double quotes (a quote inside is doubled).
std::vector<std::string> cells_of(const std::string& line) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (c == '"' && quoted && i + 1 < line.size() && line[i + 1] == '"') {
      cells.back() += '"';
      ++i;
    } else if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      cells.emplace_back();
    } else {
      cells.back() += c;
    }
  }
  return cells;
}

std::vector<Row> read_rows() {
  const std::string name = TILEFLUX_PROJECT_DIR "/tests/verification/data/published_rows.csv";
  std::ifstream file(name);
  if (!file) throw std::runtime_error(name + " cannot be read");
  std::vector<Row> rows;
  std::string line;
  std::getline(file, line);
  while (std::getline(file, line)) {
    const std::vector<std::string> cell = cells_of(line);
    if (cell.size() != 8) throw std::runtime_error("a row without eight cells: " + line);
    rows.push_back({cell[0], cell[1], cell[2], cell[3], cell[4], cell[5], cell[6], cell[7]});
  }
  return rows;
}

constexpr std::string_view between_numbers = " / ";

std::vector<std::string> parts_of(const std::string& text) {
  std::vector<std::string> parts;
  std::size_t begin = 0;
  for (std::size_t end; (end = text.find(between_numbers, begin)) != std::string::npos;
       begin = end + between_numbers.size()) {
    parts.push_back(text.substr(begin, end - begin));
  }
  parts.push_back(text.substr(begin));
  return parts;
}

/// Half a unit of the last digit that is printed.
double half_last_digit(const std::string& text) {
  const std::size_t exponent_at = text.find_first_of("eE");
  int exponent = 0;
  if (exponent_at != std::string::npos) exponent = std::stoi(text.substr(exponent_at + 1));
  const std::string mantissa = text.substr(0, exponent_at);
  const std::size_t point = mantissa.find('.');
  const int decimals = point == std::string::npos ? 0 : static_cast<int>(mantissa.size() - point - 1);
  return 0.5 * std::pow(10.0, exponent - decimals);
}

/// What decimal text loses in binary: a printed value is met if it is met to within this share of it.
constexpr double round_off = 1e-14;

}  // namespace

std::vector<double> Row::values() const {
  std::vector<double> numbers;
  for (const std::string& part : parts_of(expected)) {
    double number = 0.0;
    if (!parse(part, number)) return {};
    numbers.push_back(number);
  }
  return numbers;
}

const std::vector<Row>& published_rows() {
  static const std::vector<Row> rows = read_rows();
  return rows;
}

const Row& row(const std::string& id) {
  static const std::unordered_map<std::string, const Row*> by_id = [] {
    std::unordered_map<std::string, const Row*> map;
    for (const Row& each : published_rows()) map.emplace(each.id, &each);
    return map;
  }();
  return *by_id.at(id);
}

double tolerance_of(const Row& row, std::size_t index) {
  const double expected = row.values().at(index);
  constexpr std::string_view absolute = "abs ";
  double relative = 0.0;
  if (row.relative_tolerance.rfind(absolute, 0) == 0) {
    parse(row.relative_tolerance.substr(absolute.size()), relative);
    return relative;
  }
  if (!parse(row.relative_tolerance, relative)) relative = 0.0;
  const double stated = relative * std::abs(expected) + round_off * std::abs(expected);
  if (row.status == "COMPUTED") return stated;
  return std::max(stated, half_last_digit(parts_of(row.expected).at(index)));
}

Verdict judge(const Row& row, const std::vector<double>& got) {
  const std::vector<double> expected = row.values();
  Verdict verdict;
  verdict.agrees = !expected.empty() && expected.size() == got.size();
  for (std::size_t i = 0; i < std::min(expected.size(), got.size()); ++i) {
    const double apart = std::abs(got[i] - expected[i]);
    if (!(apart <= tolerance_of(row, i))) verdict.agrees = false;
    const double error = expected[i] == 0.0 ? apart : apart / std::abs(expected[i]);
    verdict.error = std::isfinite(error) ? std::max(verdict.error, error) : HUGE_VAL;
  }
  return verdict;
}

void check_row(const Reproduction& reproduction) {
  const Row& published = row(reproduction.id);
  const Verdict verdict = judge(published, reproduction.got);
  std::string got;
  for (const double value : reproduction.got) {
    char text[40];
    std::snprintf(text, sizeof text, " %.12g", value);
    got += text;
  }
  EXPECT_TRUE(verdict.agrees) << published.id << " (" << published.quantity << "): expected " << published.expected
                              << ' ' << published.unit << " within " << published.relative_tolerance << ", got" << got
                              << ", relative error " << verdict.error << ", through " << reproduction.through;
}

void check_all(const Reproductions& reproductions) {
  EXPECT_FALSE(reproductions.empty());
  for (const Reproduction& reproduction : reproductions) check_row(reproduction);
}

void expect_refused(const std::string& id, double wrong) {
  EXPECT_FALSE(judge(row(id), {wrong}).agrees) << id << " accepts " << wrong << ", which is wrong";
}

Reproductions operator+(Reproductions a, const Reproductions& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}

ClosedForms sourced(ClosedForms forms, const std::string& source) {
  for (ClosedForm& form : forms) {
    if (form.source.empty()) form.source = source;
  }
  return forms;
}

void check_all(const ClosedForms& forms) {
  EXPECT_FALSE(forms.empty());
  for (const ClosedForm& form : forms) {
    EXPECT_NEAR(form.got, form.expected, form.tolerance)
        << form.what << ", through " << form.through << "; tolerance: " << form.why;
  }
}

double observed_order(const Convergence& series) {
  double n = 0.0, x = 0.0, y = 0.0, xx = 0.0, xy = 0.0;
  for (const Refinement& refinement : series.refinements) {
    const double step = std::log(refinement.step), error = std::log(refinement.error);
    n += 1.0;
    x += step;
    y += error;
    xx += step * step;
    xy += step * error;
  }
  return (n * xy - x * y) / (n * xx - x * x);
}

void check_all(const Convergences& all) {
  EXPECT_FALSE(all.empty());
  for (const Convergence& series : all) {
    EXPECT_GE(series.refinements.size(), 3U) << series.what;
    for (std::size_t i = 1; i < series.refinements.size(); ++i)
      EXPECT_LT(series.refinements[i].error, series.refinements[i - 1].error) << series.what << ", " << series.refinements[i].label;
    EXPECT_NEAR(observed_order(series), series.expected_order, series.within) << series.what;
  }
}

double refused_by(const Control& control, const Fault& fault) {
  return std::isfinite(fault.got) ? std::abs(fault.got - control.expected) / control.tolerance : HUGE_VAL;
}

Control by_row(const std::string& law, const std::string& id, double right, std::vector<Fault> faults) {
  return {law, id, row(id).values().at(0), tolerance_of(row(id), 0), right, std::move(faults)};
}

Control by_form(const std::string& law, const std::string& form, double expected, double right, std::vector<Fault> faults, double relative) {
  return {law, form, expected, relative * std::abs(expected), right, std::move(faults)};
}

void check_all(const Controls& controls) {
  EXPECT_FALSE(controls.empty());
  for (const Control& control : controls) {
    EXPECT_NEAR(control.right, control.expected, control.tolerance) << control.law << ", " << control.check;
    EXPECT_FALSE(control.faults.empty()) << control.law;
    for (const Fault& fault : control.faults)
      EXPECT_GT(refused_by(control, fault), clearly) << control.law << ", " << control.check << " accepts: " << fault.what << ", " << fault.got;
  }
}

}  // namespace tileflux::verification
