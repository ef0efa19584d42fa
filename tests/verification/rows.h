#pragma once
/// Published and independently computed check values (data/published_rows.csv), and what the product makes of them.

#include <initializer_list>
#include <string>
#include <utility>
#include <vector>

namespace tileflux::verification {

/// One row of the file. `expected` is text: a number, or several separated by " / ", or words where there is no number.
struct Row {
  std::string id, quantity, inputs, expected, unit, relative_tolerance, source, status;

  /// The numbers of `expected`; empty where it is not made of numbers only.
  std::vector<double> values() const;
};

/// Whether the text is a number and nothing else; its value.
bool parse(const std::string& text, double& value);

const std::vector<Row>& published_rows();

/// The row of that id. Throws std::out_of_range.
const Row& row(const std::string& id);

/// The largest accepted |got - expected| for the number at `index`. A computed row: its relative tolerance. A printed one:
/// half a unit of the last printed digit, or the row's tolerance where that is wider (the print was rounded on the way).
double tolerance_of(const Row& row, std::size_t index);

/// What the product gave for a row: as many numbers as the row expects, the code that gave them, and what was adapted.
struct Reproduction {
  Reproduction(std::string row_id, double value, std::string code, std::string remark = {})
      : id(std::move(row_id)), got{value}, through(std::move(code)), note(std::move(remark)) {}
  Reproduction(std::string row_id, std::initializer_list<double> values, std::string code, std::string remark = {})
      : id(std::move(row_id)), got(values), through(std::move(code)), note(std::move(remark)) {}

  std::string id;
  std::vector<double> got;
  std::string through;
  std::string note;
};
using Reproductions = std::vector<Reproduction>;

/// How a reproduction compares with its row.
struct Verdict {
  bool agrees = false;
  double error = 0.0;  ///< the largest |got - expected| / |expected|; absolute where 0 is expected
};
Verdict judge(const Row& row, const std::vector<double>& got);

/// Expects that the product's number agrees with the row.
void check_row(const Reproduction& reproduction);
void check_all(const Reproductions& reproductions);

/// Negative control: expects that a number does *not* agree with the row.
void expect_refused(const std::string& id, double wrong);

/// Joins lists.
Reproductions operator+(Reproductions a, const Reproductions& b);

/// A closed form or ODE reference that is no row of the file.
struct ClosedForm {
  std::string what;
  double expected = 0.0;
  double tolerance = 0.0;  ///< absolute, with its reason in `why`
  std::string why;
  double got = 0.0;
  std::string through;
  std::string source;  ///< where the expected value is from
  std::string id;      ///< given by the book
};
using ClosedForms = std::vector<ClosedForm>;

/// Says where the expected values of forms are from that do not say it themselves.
ClosedForms sourced(ClosedForms forms, const std::string& source);
void check_all(const ClosedForms& forms);

}  // namespace tileflux::verification
