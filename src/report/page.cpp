#include "tileflux/report/page.h"

#include <fmt/format.h>

#include <kainjow/mustache.hpp>

#include "report/page_assets.h"
#include "report/page_charts.h"
#include "report/page_text.h"
#include "tileflux/base/cautions.h"
#include "tileflux/base/errors.h"
#include "tileflux/results/files.h"

namespace tileflux::report {

namespace {

using PageData = kainjow::mustache::data;

void require_page() {
  if (!page_available()) {
    throw Error(
        Code::report_unavailable,
        "this program was built without report pages: build it with node and npm at hand and -DTILEFLUX_REPORT=ON");
  }
}

/// Identifiers hold letters, digits and hyphens; whatever else comes in becomes a hyphen.
std::string identifier(std::string text) {
  for (char& letter : text) {
    const bool plain =
        (letter >= 'a' && letter <= 'z') || (letter >= 'A' && letter <= 'Z') || (letter >= '0' && letter <= '9');
    if (!plain) letter = '-';
  }
  return text.empty() ? "section" : text;
}

std::string figure_html(const Section& section, const std::string& id) {
  const std::optional<Chart> chart = section.chart ? drawable(*section.chart) : std::nullopt;
  if (!chart) return {};
  const std::string label =
      prose((section.of.empty() ? "" : section.of + ": ") + section.title + ". " + chart_in_words(*chart));
  if (const auto* picture = std::get_if<SectionChart>(&*chart))
    return "<figure class=\"drawing\">" + section_svg(*picture, label, false) + "</figure>\n";
  const std::string thinned = thinning_in_words(*section.chart);
  return fmt::format(
      "<figure class=\"drawing\"><div class=\"chart\" id=\"{0}--chart\" data-from=\"{0}--data\" role=\"img\" "
      "aria-label=\"{1}\"></div>"
      "<noscript><figcaption>The chart needs script; its numbers are in the tables "
      "below.</figcaption></noscript>{3}</figure>\n"
      "<script type=\"application/json\" id=\"{0}--data\">{2}</script>\n",
      id, escaped(label), chart_json(*chart), thinned.empty() ? "" : "<figcaption>" + thinned + "</figcaption>");
}

/// A table with more rows than `open` is folded.
std::string tables_html(const std::vector<Table>& tables, std::size_t open) {
  std::string html;
  for (const Table& table : tables) html += table_html(table, open);
  return html;
}

/// What a block of the template stands or falls with.
PageData text_or_nothing(const std::string& text) { return text.empty() ? PageData(false) : PageData(prose(text)); }

PageData texts(const std::vector<std::string>& list) {
  PageData items{PageData::type::list};
  for (const std::string& text : list) items << PageData{"text", prose(text)};
  return items;
}

/// Links to the sections, those of each result together.
PageData groups_of(const Story& story) {
  PageData groups{PageData::type::list};
  for (std::size_t begin = 0, end = 0; begin < story.sections.size(); begin = end) {
    PageData links{PageData::type::list};
    for (; end < story.sections.size() && story.sections[end].of == story.sections[begin].of; ++end) {
      PageData link;
      link["id"] = identifier(story.sections[end].id);
      link["title"] = prose(story.sections[end].title);
      links << link;
    }
    PageData group;
    group["of"] = clean_text(story.sections[begin].of);
    group["sections"] = std::move(links);
    groups << group;
  }
  return groups;
}

PageData sections_of(const Story& story) {
  PageData list{PageData::type::list};
  for (const Section& section : story.sections) {
    const std::string id = identifier(section.id);
    PageData item;
    item["id"] = id;
    item["of"] = text_or_nothing(section.of);
    item["title"] = prose(section.title);
    item["says"] = text_or_nothing(section.says);
    item["beside"] = section.chart && std::holds_alternative<SectionChart>(*section.chart);
    item["figure"] = figure_html(section, id);
    item["tables"] = tables_html(section.tables, most_open_rows);
    list << item;
  }
  return list;
}

Table sources_table(const Provenance& provenance) {
  Table table;
  table.caption = "Sources of the values that were used";
  for (const char* name : {"value", "source", "basis"}) {
    table.columns.emplace_back();
    table.columns.back().name = name;
    table.columns.back().number = false;
  }
  for (const Provenance::Source& source : provenance.sources)
    table.rows.push_back({source.value, source.source, source.basis});
  return table;
}

PageData inputs_of(const Provenance& provenance) {
  PageData list{PageData::type::list};
  for (const Provenance::Input& input : provenance.inputs) {
    PageData item;
    item["name"] = clean_text(input.name);
    item["case_file"] = clean_text(input.case_file);
    item["sha256"] = clean_text(input.sha256);
    item["text"] = clean_text(input.text);
    list << item;
  }
  return list;
}

/// Direction marks in a title must not turn the title bar around: FSI ... PDI isolate it.
std::string page_title(const Story& story) {
  return "\u2068" + clean_text(story.title) + "\u2069 \u00B7 tileflux report";
}

/// A page travels alone, so it holds the cautions in full, and then what the results say besides.
std::vector<std::string> cautions_of(const Story& story) {
  std::vector<std::string> all(cautions().begin(), cautions().end());
  for (const std::string& caution : story.cautions) {
    if (caution != short_caution()) all.push_back(caution);
  }
  return all;
}

}  // namespace

bool page_available() { return !page_assets().page.empty(); }

std::string page_of(const Story& story) {
  require_page();
  const PageAssets assets = page_assets();
  PageData page;
  page["page_title"] = page_title(story);
  page["style"] = std::string(assets.style);
  page["style_hash"] = std::string(assets.style_hash);
  page["script"] = std::string(assets.script);
  page["script_hash"] = std::string(assets.script_hash);
  page["title"] = clean_text(story.title);
  page["question"] = text_or_nothing(story.question);
  page["answer"] = prose(story.answer);
  page["also"] = texts(story.also);
  const std::string verdict = story.met ? "every limit is met" : "a limit is broken";
  page["verdict"] = story.limits.empty() ? verdict : prose(story.limits);
  page["verdict_class"] = std::string(story.met ? "met" : "broken");
  page["binds"] = text_or_nothing(story.binds);
  page["has_next"] = !story.next.empty();
  page["next"] = texts(story.next);
  page["has_warnings"] = !story.warnings.empty();
  page["warnings"] = texts(story.warnings);
  page["cautions"] = texts(cautions_of(story));
  page["groups"] = groups_of(story);
  page["sections"] = sections_of(story);
  page["version"] = clean_text(story.provenance.version);
  page["inputs"] = inputs_of(story.provenance);
  constexpr std::size_t most_open_numbers = 10;
  page["numbers"] = tables_html(story.provenance.numbers, most_open_numbers);
  page["sources"] =
      story.provenance.sources.empty() ? std::string() : table_html(sources_table(story.provenance), most_open_rows);
  kainjow::mustache::mustache skeleton{std::string(assets.page)};
  return skeleton.render(page);
}

void write_page(const Story& story, const std::filesystem::path& path) {
  const std::string page = page_of(story);
  const std::filesystem::path folder = path.has_parent_path() ? path.parent_path() : std::filesystem::path(".");
  results::OutputDirectory(folder).write_text(path.filename().string(), page);
}

}  // namespace tileflux::report
