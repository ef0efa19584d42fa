#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "input/wording.h"
#include "tileflux/input/definition.h"

namespace tileflux::input {

namespace {

std::string unit_of(const QuantityType& type) {
  if (type.dimension.si_unit == "1") return "a number or %";
  const units::DimensionName name = units::name_of(type.dimension);
  return name.name + ", `" + name.example + '`';
}

std::string range_of(const QuantityType& type) { return range_text(type.range, type.dimension.si_unit); }

struct Words {
  std::string value;  ///< what may stand
  std::string range;
};

Words words_of(const QuantityType& type) { return {unit_of(type), range_of(type)}; }
Words words_of(const CountType& type) {
  return {"a whole number", std::to_string(type.least) + " to " + std::to_string(type.most)};
}
Words words_of(const TextType& type) { return {"text", "at most " + std::to_string(type.longest) + " bytes"}; }
Words words_of(const NameType& type) { return {type.dotted ? "a name, may be dotted" : "a name", {}}; }
Words words_of(const FlagType&) { return {"`yes` or `no`", {}}; }

Words words_of(const ChoiceType& type) {
  std::string text;
  for (const std::string& word : type.words) text += (text.empty() ? "`" : ", `") + word + '`';
  return {text, {}};
}

Words words_of(const QuantityListType& type) {
  const std::string range = range_of(type.item);
  return {"a list, each " + unit_of(type.item),
          count_text(type.least, type.most) + " entries" + (range.empty() ? "" : ", each " + range)};
}

Words words_of(const NameListType& type) { return {"a list of names", count_text(type.least, type.most) + " names"}; }

Words words_of(const TableType& type) {
  std::string columns;
  for (const QuantityType& column : type.columns) columns += (columns.empty() ? "" : "; ") + unit_of(column);
  const std::string rising = type.rising ? ", the first column rising" : "";
  return {"a list of rows: " + columns, count_text(type.least_rows, type.most_rows) + " rows" + rising};
}

/// A link to the heading of that title on the same page.
std::string link_to(const std::string& title) {
  std::string anchor;
  for (const char c : title) {
    const bool capital = c >= 'A' && c <= 'Z';
    anchor += c == ' ' ? '-' : capital ? static_cast<char>(c - 'A' + 'a') : c;
  }
  return '[' + title + "](#" + anchor + ')';
}

Words words_of(const SectionType& type) {
  const std::string link = "see " + link_to(type.section->title);
  switch (type.shape) {
    case SectionType::Shape::one:
      return {"a map, " + link, {}};
    case SectionType::Shape::list:
      return {"a list of maps, " + link, "at most " + std::to_string(type.most)};
    case SectionType::Shape::by_name:
      return {"a map from names to maps, " + link, "at most " + std::to_string(type.most)};
  }
  return {};
}

/// Text for a cell of a table.
std::string cell(std::string text) {
  std::string result;
  for (const char c : text) {
    if (c == '|') result += '\\';
    result += c == '\n' ? ' ' : c;
  }
  return result;
}

std::string list_of_keys(const std::vector<std::string>& keys) {
  std::string text;
  for (const std::string& key : keys) text += (text.empty() ? "`" : ", `") + key + '`';
  return text;
}

std::string groups_of(const Section& section) {
  std::string text;
  for (const auto& group : section.exactly_one_of) text += "- Exactly one of " + list_of_keys(group) + " must stand.\n";
  for (const auto& group : section.at_most_one_of) text += "- At most one of " + list_of_keys(group) + " may stand.\n";
  for (const auto& group : section.together) text += "- " + list_of_keys(group) + " stand together or not at all.\n";
  return text.empty() ? text : '\n' + text;
}

std::string default_of(const Field& field) {
  if (field.default_text) return '`' + *field.default_text + '`';
  return field.required ? "**required**" : "";
}

void write_section(const Section& section, const std::string& path, std::vector<const Section*>& written,
                   std::string& page) {
  written.push_back(&section);
  page += "\n## " + section.title + "\n\n";
  if (!path.empty()) page += "At `" + path + "`. ";
  page += section.meaning + "\n\n| key | value | range | default | meaning |\n| --- | --- | --- | --- | --- |\n";
  for (const Field& field : section.fields) {
    const Words words = std::visit([](const auto& type) { return words_of(type); }, field.type);
    page += "| `" + field.key + "` | " + cell(words.value) + " | " + cell(words.range) + " | " +
            cell(default_of(field)) + " | " + cell(field.meaning) + " |\n";
  }
  page += groups_of(section);
  for (const Field& field : section.fields) {
    const auto* inner = std::get_if<SectionType>(&field.type);
    if (inner == nullptr || std::find(written.begin(), written.end(), inner->section.get()) != written.end()) continue;
    std::string inner_path = path.empty() ? field.key : path + '.' + field.key;
    if (inner->shape == SectionType::Shape::list) inner_path += "[]";
    if (inner->shape == SectionType::Shape::by_name) inner_path += ".<name>";
    write_section(*inner->section, inner_path, written, page);
  }
}

}  // namespace

std::string reference_page(const Section& root, const std::string& title, const std::string& introduction) {
  std::string page = "# " + title + "\n";
  if (!introduction.empty()) page += '\n' + introduction + '\n';
  std::vector<const Section*> written;
  write_section(root, {}, written, page);
  return page;
}

}  // namespace tileflux::input
