#pragma once
/// What the stories of several verbs share: limits, numbers in words, charts of an operating point.

#include <optional>
#include <string>
#include <vector>

#include "report/result_content.h"
#include "tileflux/report/story.h"

namespace tileflux::report {

/// What one result tells; story_of puts them together.
struct Chapter {
  std::string question, answer, binds;
  bool met = true;
  std::string limits;  ///< as in Story
  std::vector<std::string> next;
  std::vector<Section> sections;
  std::vector<Table> numbers;         ///< for the provenance
  std::vector<std::string> warnings;  ///< beside those of the result
};

Chapter balance_chapter(const ResultContent& content);
Chapter run_chapter(const ResultContent& content);
Chapter duty_chapter(const ResultContent& content);
Chapter size_chapter(const ResultContent& content);
Chapter sweep_chapter(const ResultContent& content);
/// Of a sweep that asked for answers by name.
Chapter rows_chapter(const ResultContent& content);
Chapter gains_chapter(const ResultContent& content);
Chapter margins_chapter(const ResultContent& content);

/// A unit of a result as people have it: shown = (value - offset) * factor.
struct Shown {
  std::string unit;         ///< of values
  std::string margin_unit;  ///< of differences
  double factor = 1.0, offset = 0.0;
  int decimals = 2;

  double value(double of_result) const { return (of_result - offset) * factor; }
  double difference(double of_result) const { return of_result * factor; }
};
/// Of the kinds of limits: `temperature`, `rate`, ...
Shown shown_of_kind(const std::string& kind);
double celsius_of(double temperature_K);

/// A limit with its margin, in the units that people have.
struct LimitTold {
  std::string kind, node, other;
  Shown shown;
  double value = 0.0, limit = 0.0, margin = 0.0;
  bool upper = true;
  std::string beam;   ///< `on`, `off`, or empty: not told
  std::string state;  ///< behind the name in charts and tables, where several states stand together

  std::string where() const { return other.empty() ? node : node + " - " + other; }
  /// By this limits of all kinds are ordered, as the program orders them.
  double comparable() const;
};
LimitTold limit_of(const View& view);
std::optional<LimitTold> limit_if(const View& view, const char* key);
std::vector<LimitTold> limits_of(const View& list);
/// `west.junction below 52.00 degC`.
std::string limit_words(const LimitTold& limit);
/// `4.38 K left`, `broken by 0.20 K`.
std::string left_words(const LimitTold& limit);
/// ` with the beam on`, or nothing.
std::string beam_words(const LimitTold& limit);
/// `What binds is ...; next is ...`.
std::string binding_sentence(const std::optional<LimitTold>& binding, const std::optional<LimitTold>& next);

/// Three significant digits with a unit: `149 W`, `7.07 MJ`.
std::string amount_words(double value, const std::string& unit);
std::string percent_words(double share);
/// `96.3 s`, `2.19 min`, `15.3 h`, `12.0 d`.
std::string time_words(double time_s);
std::string plural(std::size_t count, const std::string& thing);

/// One bar and one row for each, least margin first. `name` of a bar says the state where there are several.
MarginChart margin_chart(std::vector<LimitTold> limits);
Table margin_table(std::string caption, std::vector<LimitTold> limits);
/// `All 6 limits are met.`, `1 of 6 limits broken.`
std::string met_sentence(const std::vector<LimitTold>& limits);

/// Throws Error (ledger_open) where a station does not balance.
FlowChart flow_chart(const View& point);
Table flow_table(const FlowChart& chart, std::string caption);
std::string flow_sentence(const FlowChart& chart);

SectionChart section_chart(const View& result, const View& point);

/// Two columns, text and text.
Table facts_table(std::string caption, const std::vector<std::pair<std::string, std::string>>& facts);
Cell cell_of(const std::optional<double>& value);

/// What to do next, from the paragraph why; without one, which verb would tell.
std::vector<std::string> next_steps(const View& result);

/// Rows that stand for a long table: first, last, every extreme of a column, those asked for, and evenly spread ones up
/// to `wanted`. Rising.
std::vector<std::size_t> standing_rows(const std::vector<const std::vector<double>*>& columns, std::size_t rows,
                                       const std::vector<std::size_t>& asked, std::size_t wanted);

}  // namespace tileflux::report
