/// The stories of results side by side, and where it all comes from.

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "report/story_parts.h"
#include "tileflux/base/constants.h"
#include "tileflux/results/digest.h"

namespace tileflux::report {

namespace {

Chapter chapter_of(const Result& result) {
  const ResultContent& content = *result.content;
  if (result.verb == "balance") return balance_chapter(content);
  if (result.verb == "run") return run_chapter(content);
  if (result.verb == "duty") return duty_chapter(content);
  if (result.verb == "size") return size_chapter(content);
  if (result.verb == "gains") return gains_chapter(content);
  if (result.verb == "margins") return margins_chapter(content);
  return content.view().has("design") ? rows_chapter(content) : sweep_chapter(content);
}

void add_once(std::vector<std::string>& list, const std::string& text) {
  if (!text.empty() && std::find(list.begin(), list.end(), text) == list.end()) list.push_back(text);
}

std::string warning_words(const View& warning) {
  std::string words = warning.text_or("code", "") + ": " + warning.text_or("message", "");
  if (const auto line = warning.number_if("line"))
    words = fmt::format("{}:{}: {}", warning.text_or("file", ""), static_cast<long long>(*line), words);
  return words;
}

/// What the case was looked at in.
Table surroundings_table(const View& result) {
  Table table{"Computed for", {{"what", "", 0, false}, {"value", "", -6}, {"unit", "", 0, false}}, {}, ""};
  const auto sun = result.find("sun");
  if (!sun) return table;
  constexpr double degrees_per_radian = 57.29577951308232;
  const auto add = [&](const char* what, double value, const char* unit) {
    table.rows.push_back({std::string(what), value, std::string(unit)});
  };
  add("distance from the Sun", sun->number("distance_m") / astronomical_unit_m, "AU");
  add("tilt of the front from the Sun", sun->number("tilt_rad") * degrees_per_radian, "deg");
  add("sunlight on the front", sun->number("irradiance_on_face_W_per_m2"), "W/m2");
  add("sunlight at 1 AU", sun->number("irradiance_at_1AU_W_per_m2"), "W/m2");
  if (const auto orbit = result.find("orbit")) {
    add("once around the planet", orbit->number("period_s"), "s");
    add("of it in shadow", orbit->number("shadow_s"), "s");
    add("albedo of the planet", orbit->number("albedo"), "");
    add("angle between the Sun and the plane of the orbit", orbit->number("beta_rad") * degrees_per_radian, "deg");
  }
  return table;
}

Table defaults_table(const View& result) {
  std::vector<std::pair<std::string, std::string>> facts;
  if (const auto defaults = result.find("defaults")) {
    for (const auto& [path, text] : defaults->entries()) facts.emplace_back(path, text.text());
  }
  return facts_table("Filled in by default", facts);
}

Table accuracy_table(const View& result) {
  Table table{"Tolerances as asked for", {{"relative", "", -3}, {"absolute", "K", -3}}, {}, ""};
  if (const auto accuracy = result.find("accuracy"))
    table.rows.push_back({accuracy->number("relative"), accuracy->number("absolute_K")});
  return table;
}

void add_sources(Provenance& provenance, const View& result) {
  const auto used = result.find("materials_used");
  if (!used) return;
  for (const View& one : used->items()) {
    const std::string unit = one.text_or("unit", "");
    const auto value = one.number_if("value_si");
    Provenance::Source source;
    source.value = one.text("material") + ' ' + one.text("property");
    if (value)
      source.value +=
          fmt::format(" = {:.6g}{}{}", *value, unit.empty() || unit == "1" ? "" : " " + unit,
                      one.has("over_temperature") && one.flag("over_temperature") ? " (a table; at 20 degC)" : "");
    source.source = one.text_or("source", "");
    source.basis = one.text_or("basis", "");
    const std::string uncertainty = one.text_or("uncertainty", "");
    if (!uncertainty.empty()) source.basis += ", uncertainty " + uncertainty;
    const auto same = [&](const Provenance::Source& other) {
      return other.value == source.value && other.source == source.source;
    };
    if (std::none_of(provenance.sources.begin(), provenance.sources.end(), same))
      provenance.sources.push_back(std::move(source));
  }
}

/// The same table of several results stands there once, with all their names.
void add_numbers(Provenance& provenance, Table table, const std::string& label) {
  if (table.rows.empty()) return;
  const auto same = std::find_if(provenance.numbers.begin(), provenance.numbers.end(), [&](const Table& known) {
    return known.caption.starts_with(table.caption) && known.rows == table.rows;
  });
  if (same != provenance.numbers.end()) {
    if (!label.empty()) same->caption += ", " + label;
    return;
  }
  if (!label.empty()) table.caption += ": " + label;
  provenance.numbers.push_back(std::move(table));
}

void add_provenance(Story& story, const Result& result, const std::string& label) {
  const View view = result.content->view();
  Provenance& provenance = story.provenance;
  const std::string version = "tileflux " + view.text_or("tileflux", "of an unknown version");
  if (provenance.version.find(version) == std::string::npos)
    provenance.version += (provenance.version.empty() ? "" : ", ") + version;
  Provenance::Input input{result.name, view.text_or("case_file", ""), "", ""};
  if (const auto given = view.find("input")) {
    input.text = given->text("text");
    input.sha256 = given->text("sha256");
    if (results::sha256_of(input.text) != input.sha256)
      add_once(story.warnings, result.name +
                                   ": the text of the case is not the one that the result was computed from: "
                                   "its SHA-256 is another");
  } else {
    add_once(story.warnings, result.name + ": the result does not hold the text of its case");
  }
  provenance.inputs.push_back(std::move(input));
  if (const auto given = view.find("input"); given && given->has("tables")) {
    for (const View& table : given->items("tables"))
      provenance.inputs.push_back({result.name, "with the table " + table.text("file"), "", table.text("sha256")});
  }
  add_sources(provenance, view);
  for (const Table& table : {surroundings_table(view), accuracy_table(view), defaults_table(view)})
    add_numbers(provenance, table, label);
}

void add_notes(Story& story, const Result& result) {
  const View view = result.content->view();
  if (const auto warnings = view.find("warnings")) {
    for (const View& warning : warnings->items()) add_once(story.warnings, warning_words(warning));
  }
  add_once(story.cautions, view.text_or("caution", ""));
  if (view.text_or("life", "") == "end") add_once(story.cautions, "Values are those at the end of life.");
  if (view.text_or("outcome", "") == "interrupted")
    add_once(story.warnings, result.name + ": the run was interrupted; the story ends where it did");
}

std::string title_of(const Result& result) { return result.content->view().text_or("title", ""); }

/// The titles of the cases, each once.
std::vector<std::string> titles_of(const std::vector<Result>& results) {
  std::vector<std::string> titles;
  for (const Result& result : results) add_once(titles, title_of(result));
  return titles;
}

/// How the sections of a result are told from those of the others: by its verb, its case, its file, as far as need be.
std::string label_of(const std::vector<Result>& results, std::size_t number) {
  const Result& result = results[number];
  const auto same = std::count_if(results.begin(), results.end(), [&](const Result& other) {
    return other.verb == result.verb && title_of(other) == title_of(result);
  });
  return result.verb + (titles_of(results).size() > 1 ? " of " + title_of(result) : "") +
         (same > 1 ? " (" + result.name + ")" : "");
}

/// What becomes of the limits where several results tell of them in their own ways; empty: in the usual words.
std::string limits_of_all(const std::vector<Result>& results, const std::vector<Chapter>& chapters) {
  if (chapters.size() == 1) return chapters.front().limits;
  const bool usual =
      std::all_of(chapters.begin(), chapters.end(), [](const Chapter& chapter) { return chapter.limits.empty(); });
  std::string words;
  for (std::size_t i = 0; i < chapters.size() && !usual; ++i) {
    const std::string own = chapters[i].met ? "every limit is met" : "a limit is broken";
    words += (i > 0 ? "; " : "") + label_of(results, i) + ": " + (chapters[i].limits.empty() ? own : chapters[i].limits);
  }
  return words;
}

void add_chapter(Story& story, Chapter chapter, const std::vector<Result>& results, std::size_t number) {
  const Result& result = results[number];
  const bool several = results.size() > 1;
  const bool other_case = several && title_of(result) != title_of(results.front());
  if (story.question.empty()) story.question = chapter.question;
  if (story.answer.empty())
    story.answer = chapter.answer;
  else
    story.also.push_back(label_of(results, number) + ": " + chapter.answer);
  story.met = story.met && chapter.met;
  if (story.binds.empty()) story.binds = chapter.binds;
  constexpr std::size_t most_steps = 6;
  for (const std::string& step : chapter.next) {
    if (story.next.size() < most_steps) add_once(story.next, (other_case ? title_of(result) + ": " : "") + step);
  }
  for (Section& section : chapter.sections) {
    if (several) {
      section.id = fmt::format("{}-{}-{}", result.verb, number + 1, section.id);
      section.of = label_of(results, number);
    }
    story.sections.push_back(std::move(section));
  }
  for (Table& table : chapter.numbers) {
    if (several) table.caption += ": " + label_of(results, number);
    story.provenance.numbers.push_back(std::move(table));
  }
  for (const std::string& warning : chapter.warnings) add_once(story.warnings, warning);
}

}  // namespace

Story story_of(const std::vector<Result>& results) {
  Story story;
  std::vector<Chapter> chapters;
  for (const Result& result : results) chapters.push_back(chapter_of(result));
  story.limits = limits_of_all(results, chapters);
  for (const std::string& title : titles_of(results)) story.title += (story.title.empty() ? "" : "; ") + title;
  for (std::size_t i = 0; i < results.size(); ++i) {
    add_chapter(story, std::move(chapters[i]), results, i);
    add_notes(story, results[i]);
    add_provenance(story, results[i], results.size() > 1 ? label_of(results, i) : "");
  }
  return story;
}

}  // namespace tileflux::report
