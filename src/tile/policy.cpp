#include "tileflux/tile/policy.h"

#include <algorithm>
#include <filesystem>
#include <memory>

#include "tileflux/base/spelling.h"
#include "tileflux/input/document.h"

namespace tileflux::tile {

namespace {

using input::Field;
using input::QuantityType;
using input::Section;

constexpr QuantityType kelvins{{"K", units::Kind::difference}, {0.0, 200.0}};
constexpr QuantityType temperatures{{"K"}, {1.0, 3000.0}};

void add_pedigree(Section& section) {
  section.fields.push_back({"source", input::TextType{800}, "document with its clause", true, {}});
  section.fields.push_back({"basis",
                            input::ChoiceType{{"published", "transcribed", "memory", "practice"}},
                            "published: the document was read; transcribed: a copy or a secondary source was read; "
                            "memory: no source seen; practice: common practice, for which no source is claimed",
                            true,
                            {}});
  section.fields.push_back({"note", input::TextType{800}, "what a user should know", false, {}});
}

Field number(const char* key, const QuantityType& type, const char* meaning) {
  Section section;
  section.title = key;
  section.meaning = "One number with its source.";
  section.fields = {{"value", type, "the number", true, {}}};
  add_pedigree(section);
  return {key, input::SectionType{std::make_shared<const Section>(std::move(section))}, meaning, false, {}};
}

Field cold_table() {
  Section section;
  section.title = "tested_cold";
  section.meaning = "Rows of a calculated temperature and what is asked at or below it.";
  section.fields = {{"table", input::TableType{{temperatures, kelvins}, 1, 100}, "by rising temperature", true, {}}};
  add_pedigree(section);
  return {"tested_cold",
          input::SectionType{std::make_shared<const Section>(std::move(section))},
          "less for parts that are very cold, after a test",
          false,
          {}};
}

template <class Sourced>
Sourced with_pedigree(const input::Record& record) {
  Sourced made;
  made.source = record.text("source");
  made.basis = record.text("basis");
  if (record.has("note")) made.note = record.text("note");
  return made;
}

std::optional<PolicyNumber> number_of(const input::Record& record, const char* key) {
  if (!record.has(key)) return std::nullopt;
  auto made = with_pedigree<PolicyNumber>(record.section(key));
  made.value = record.section(key).quantity("value");
  return made;
}

}  // namespace

Section policy_section() {
  constexpr QuantityType share{{"1"}, {0.0, 10.0}}, of_time{{"1"}, {0.0, 1.0, true}},
      deviations{{"1"}, {0.0, 6.0, true}};
  Section section;
  section.title = "Margin policy";
  section.meaning = "How far predictions must stay from limits.";
  section.fields = {
      {"tileflux_policy", input::CountType{1, 1}, "version of the format", true, {}},
      {"title", input::TextType{200}, "a line for people", true, {}},
      number("tested", kelvins, "added to calculated temperatures of passive parts after a thermal balance test"),
      number("untested", kelvins, "the same before such a test"),
      cold_table(),
      number("sigmas", deviations, "standard deviations of the calculated temperature that are added instead"),
      number("active", kelvins, "added where a controlled heater holds the part"),
      number("acceptance", kelvins, "from a predicted temperature to the acceptance limit"),
      number("qualification", kelvins, "from the acceptance limit to the qualification limit"),
      number("power_reserve", share, "installed over needed power of a controlled heater, less one"),
      number("heater_duty", of_time, "largest share of time that a controlled heater is on"),
      number("radiator_area", share, "radiator area on top of what is computed, before a test"),
      number("bounds", deviations, "standard deviations that stand for the ends of a normal law"),
  };
  section.exactly_one_of = {{"tested", "sigmas"}};
  section.together = {{"tested", "untested"}};
  return section;
}

double Policy::uncertainty_K(bool is_tested, double calculated_K) const {
  if (!tested) return 0.0;
  if (!is_tested) return untested->value;
  if (tested_cold) {
    for (const ColdUncertainty::Row& row : tested_cold->rows) {
      if (calculated_K <= row.up_to_K) return row.uncertainty_K;
    }
  }
  return tested->value;
}

Policy read_policy(const std::string& file) {
  std::vector<Diagnostic> findings;
  const input::Document document = input::read_document(file, findings);
  if (!findings.empty()) throw Error(std::move(findings));
  static const Section definition = policy_section();
  const input::Record record = input::read_record(document, definition, findings).record;
  if (!findings.empty()) throw Error(std::move(findings));
  Policy policy;
  policy.name = std::filesystem::path(file).stem().string();
  policy.title = record.text("title");
  policy.file = file;
  policy.tested = number_of(record, "tested");
  policy.untested = number_of(record, "untested");
  policy.sigmas = number_of(record, "sigmas");
  policy.active = number_of(record, "active");
  policy.acceptance = number_of(record, "acceptance");
  policy.qualification = number_of(record, "qualification");
  policy.power_reserve = number_of(record, "power_reserve");
  policy.heater_duty = number_of(record, "heater_duty");
  policy.radiator_area = number_of(record, "radiator_area");
  policy.bounds = number_of(record, "bounds");
  if (!record.has("tested_cold")) return policy;
  const input::Record& cold = record.section("tested_cold");
  policy.tested_cold = with_pedigree<ColdUncertainty>(cold);
  double last_K = 0.0;
  for (const std::vector<double>& row : cold.table("table")) {
    if (row[1] < last_K)
      throw Error(document.finding(Code::table_not_rising, cold.place("table").line, cold.place("table").column,
                                   cold.place("table").path, "what is asked must not fall as the part gets warmer"));
    policy.tested_cold->rows.push_back({row[0], row[1]});
    last_K = row[1];
  }
  return policy;
}

std::vector<std::string> policy_names(const std::string& directory) {
  std::vector<std::string> names;
  std::error_code trouble;
  for (const auto& entry : std::filesystem::directory_iterator(directory, trouble)) {
    if (entry.path().extension() == ".yaml") names.push_back(entry.path().stem().string());
  }
  if (trouble)
    throw Error(Code::file_unreadable, "cannot read the directory of policies " + directory + ": " + trouble.message());
  std::sort(names.begin(), names.end());
  return names;
}

Policy policy_named(const std::string& directory, const std::string& name) {
  const std::vector<std::string> known = policy_names(directory);
  if (std::find(known.begin(), known.end(), name) != known.end())
    return read_policy((std::filesystem::path(directory) / (name + ".yaml")).string());
  Diagnostic finding;
  finding.code = Code::name_unknown;
  finding.message = "there is no policy '" + name + "' in " + directory;
  const std::string nearest = nearest_spelling(name, known);
  std::string all;
  for (const std::string& one : known) all += (all.empty() ? "" : ", ") + one;
  finding.suggestion = nearest.empty() ? "known: " + all : "did you mean '" + nearest + "'?";
  throw Error(std::move(finding));
}

}  // namespace tileflux::tile
