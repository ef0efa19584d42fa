#include <algorithm>
#include <charconv>
#include <iterator>
#include <system_error>
#include <utility>

#include "input/record_value.h"
#include "input/tree_builder.h"
#include "input/wording.h"
#include "tileflux/base/spelling.h"
#include "tileflux/input/record.h"

namespace tileflux::input {

class RecordReader {
 public:
  using Value = Record::Value;

  RecordReader(const Document& document, std::vector<Diagnostic>& findings, std::vector<FilledDefault>& defaults)
      : document_(document), findings_(findings), defaults_(defaults) {}

  /// Reads a map. `place` is that of the key it stands at: missing keys are missed there.
  Record read_section(const Node& node, const Section& section, const Place& place) {
    Record record;
    record.place_ = place;
    report_unknown_keys(node, section, place);
    for (const Field& field : section.fields) {
      const Node::Entry* entry = find(node, field.key);
      Value value;
      if (entry != nullptr) {
        value = read_value(entry->value, field.type,
                           Place{document_.file, entry->value.line, entry->value.column, join(place.path, field.key)},
                           Place{document_.file, entry->line, entry->column, join(place.path, field.key)});
        value.stated = !in_default_;
      } else {
        value = read_default(field, place);
      }
      record.values_.emplace_back(field.key, std::move(value));
    }
    report_groups(node, section, place);
    return record;
  }

 private:
  static std::string join(const std::string& path, const std::string& key) {
    return path.empty() ? key : path + '.' + key;
  }
  static std::string item_path(const std::string& path, std::size_t item) {
    return path + '[' + std::to_string(item) + ']';
  }
  Place place_of(const Node& node, std::string path) const {
    return {document_.file, node.line, node.column, std::move(path)};
  }

  static const Node::Entry* find(const Node& node, const std::string& key) {
    for (const Node::Entry& entry : node.entries) {
      if (entry.key == key) return &entry;
    }
    return nullptr;
  }

  bool is_full() const { return added_ >= most_findings; }

  void report(Code code, const Place& place, std::string message, std::string suggestion = {}) {
    if (is_full()) return;
    ++added_;
    Diagnostic finding = document_.finding(code, place.line, place.column, place.path, std::move(message));
    finding.suggestion = std::move(suggestion);
    findings_.push_back(std::move(finding));
  }

  static std::string did_you_mean(const std::string& word, const std::vector<std::string>& known) {
    const std::string nearest = nearest_spelling(word, known);
    return nearest.empty() ? std::string() : "did you mean '" + nearest + "'?";
  }

  // The keys of a section

  void report_unknown_keys(const Node& node, const Section& section, const Place& place) {
    std::vector<std::string> known;
    for (const Field& field : section.fields) known.push_back(field.key);
    for (const Node::Entry& entry : node.entries) {
      if (is_full()) return;
      if (std::find(known.begin(), known.end(), entry.key) != known.end()) continue;
      constexpr std::size_t most_listed = 12;
      std::string suggestion = did_you_mean(entry.key, known);
      if (entry.key.find(':') != std::string::npos) suggestion = "a blank belongs behind the colon";
      if (suggestion.empty() && known.size() <= most_listed) suggestion = "known here: " + choice_of(known);
      report(Code::key_unknown, {document_.file, entry.line, entry.column, place.path},
             "the key " + in_quotes(entry.key) + " is not known here", suggestion);
    }
  }

  void report_groups(const Node& node, const Section& section, const Place& place) {
    const auto check_known = [&](const std::vector<std::string>& group) {
      for (const std::string& key : group) {
        const bool known = std::any_of(section.fields.begin(), section.fields.end(),
                                       [&](const Field& field) { return field.key == key; });
        if (!known)
          throw Error(Code::internal, "a group of the section '" + section.title + "' names the key '" + key +
                                          "', which it does not have");
      }
    };
    const auto standing = [&](const std::vector<std::string>& group) {
      std::vector<const Node::Entry*> entries;
      for (const Node::Entry& entry : node.entries) {
        if (std::find(group.begin(), group.end(), entry.key) != group.end()) entries.push_back(&entry);
      }
      return entries;
    };
    const auto at = [&](const Node::Entry& entry) {
      return Place{document_.file, entry.line, entry.column, join(place.path, entry.key)};
    };
    const auto report_excess = [&](const std::vector<const Node::Entry*>& entries) {
      for (std::size_t i = 1; i < entries.size(); ++i) {
        report(Code::key_conflict, at(*entries[i]),
               "'" + entries[i]->key + "' and '" + entries[0]->key + "' exclude each other");
      }
    };
    for (const auto& group : section.exactly_one_of) {
      check_known(group);
      const auto entries = standing(group);
      if (entries.empty()) report(Code::key_missing, place, "one of " + choice_of(group) + " is missing");
      report_excess(entries);
    }
    for (const auto& group : section.at_most_one_of) {
      check_known(group);
      report_excess(standing(group));
    }
    for (const auto& group : section.together) {
      check_known(group);
      const auto entries = standing(group);
      for (const std::string& key : group) {
        if (!entries.empty() && find(node, key) == nullptr)
          report(Code::key_conflict, at(*entries[0]), "'" + entries[0]->key + "' needs '" + key + "' too");
      }
    }
  }

  Value read_default(const Field& field, const Place& section_place) {
    Value value;
    value.place = section_place;
    value.place.path = join(section_place.path, field.key);
    if (!field.default_text) {
      if (field.required)
        report(Code::key_missing, section_place, "the key '" + field.key + "' is missing: " + expectation(field.type));
      return value;
    }
    Node node = default_node(field);
    relocate(node, section_place);
    const std::size_t before = findings_.size();
    const bool outer = std::exchange(in_default_, true);
    const bool is_section = std::holds_alternative<SectionType>(field.type);
    if (!is_section || *field.default_text != "{}") defaults_.push_back({value.place.path, *field.default_text});
    value = read_value(node, field.type, value.place, value.place);
    in_default_ = outer;
    if (findings_.size() > before && !is_full())
      throw Error(Code::internal, "the default of '" + field.key + "' cannot be read: " + findings_.back().message);
    return value;
  }

  static Node default_node(const Field& field) {
    const bool composed =
        std::holds_alternative<QuantityListType>(field.type) || std::holds_alternative<NameListType>(field.type) ||
        std::holds_alternative<TableType>(field.type) || std::holds_alternative<SectionType>(field.type);
    Node node;
    if (composed) {
      std::vector<Diagnostic> findings;
      node = parse_document(*field.default_text, "default of " + field.key, findings).root;
      if (!findings.empty())
        throw Error(Code::internal, "the default of '" + field.key + "' cannot be read: " + findings.front().message);
    } else {
      node.kind = Node::Kind::scalar;
      node.text = *field.default_text;
    }
    return node;
  }

  static void relocate(Node& node, const Place& place) {
    node.line = place.line;
    node.column = place.column;
    for (Node& item : node.items) relocate(item, place);
    for (Node::Entry& entry : node.entries) {
      entry.line = place.line;
      entry.column = place.column;
      relocate(entry.value, place);
    }
  }

  // What is expected

  static std::string expectation(const QuantityType& type) {
    const units::DimensionName name = units::name_of(type.dimension);
    return "expected " + name.name + " such as '" + name.example + '\'';
  }
  static std::string expectation(const CountType& type) {
    return "expected a whole number from " + std::to_string(type.least) + " to " + std::to_string(type.most);
  }
  static std::string expectation(const TextType&) { return "expected a text"; }
  static std::string expectation(const NameType&) { return "expected a name"; }
  static std::string expectation(const ChoiceType& type) { return "expected " + choice_of(type.words); }
  static std::string expectation(const FlagType&) { return "expected 'yes' or 'no'"; }
  static std::string expectation(const QuantityListType& type) {
    return "expected a list, each entry " + units::name_of(type.item.dimension).name;
  }
  static std::string expectation(const NameListType&) { return "expected a list of names"; }
  static std::string expectation(const TableType& type) {
    return "expected a list of rows with " + std::to_string(type.columns.size()) + " values each";
  }
  static std::string expectation(const SectionType& type) {
    switch (type.shape) {
      case SectionType::Shape::one:
        return "expected a map";
      case SectionType::Shape::list:
        return "expected a list of maps";
      case SectionType::Shape::by_name:
        return "expected a map from names to maps";
    }
    return {};
  }
  static std::string expectation(const FieldType& type) {
    return std::visit([](const auto& one) { return expectation(one); }, type);
  }

  /// Whether the node is of the kind; if not, that is reported.
  template <class Type>
  bool is_kind(const Node& node, Node::Kind kind, const Type& type, const Place& place) {
    if (node.kind == kind) return true;
    const Code code = node.kind == Node::Kind::null ? Code::empty_value : Code::wrong_kind;
    report(code, place, expectation(type) + ", found " + kind_text(node));
    return false;
  }

  // The values

  Value read_value(const Node& node, const FieldType& type, Place place, const Place& key_place) {
    Value value;
    value.place = std::move(place);
    std::visit([&](const auto& one) { read(node, one, value, key_place); }, type);
    return value;
  }

  /// The place of a byte in a scalar, if it stands in the file as it is, otherwise that of the scalar.
  Place place_within(const Node& node, const Place& place, int offset) const {
    Place inner = place;
    const auto line = static_cast<std::size_t>(node.line) - 1;
    if (in_default_ || node.line < 1 || line >= document_.lines.size()) return inner;
    const std::string& text = document_.lines[line];
    auto begin = static_cast<std::size_t>(node.column) - 1;
    if (begin < text.size() && (text[begin] == '"' || text[begin] == '\'')) ++begin;
    const bool literal = begin <= text.size() && std::string_view(text).substr(begin).starts_with(node.text);
    if (literal) inner.column = static_cast<int>(begin) + offset + 1;
    return inner;
  }

  std::optional<double> quantity(const Node& node, const QuantityType& type, const Place& place) {
    if (!is_kind(node, Node::Kind::scalar, type, place)) return std::nullopt;
    const units::Parsed parsed = units::parse_quantity(node.text, type.dimension);
    if (!parsed.value_si) {
      report(parsed.code, parsed.offset > 0 ? place_within(node, place, parsed.offset) : place, parsed.message);
      return std::nullopt;
    }
    if (!is_within(*parsed.value_si, type.range)) {
      const std::string si = number_text(*parsed.value_si, type.dimension.si_unit);
      const std::string found = si == node.text ? in_quotes(node.text) : in_quotes(node.text) + " (" + si + ')';
      report(Code::value_out_of_range, place,
             "expected " + range_text(type.range, type.dimension.si_unit) + ", found " + found);
      return std::nullopt;
    }
    return parsed.value_si;
  }

  std::optional<std::string> name(const Node& node, const NameType& type, const Place& place) {
    if (!is_kind(node, Node::Kind::scalar, type, place)) return std::nullopt;
    if (!is_name(node.text, type)) {
      report_name(node.text, type, place);
      return std::nullopt;
    }
    return node.text;
  }

  void report_name(const std::string& text, const NameType& type, const Place& place) {
    const std::string dots = type.dotted ? ", with dots between names" : "";
    report(Code::name_malformed, place,
           "expected a name of a-z, 0-9 and _, a letter first, at most 64 characters" + dots + ", found " +
               in_quotes(text));
  }

  bool count_fits(std::size_t count, std::size_t least, std::size_t most, const char* what, const Place& place) {
    if (count >= least && count <= most) return true;
    report(Code::count_out_of_bounds, place,
           "expected " + count_text(least, most) + ' ' + what + ", found " + std::to_string(count));
    return false;
  }

  void read(const Node& node, const QuantityType& type, Value& value, const Place&) {
    if (const auto found = quantity(node, type, value.place)) value.content = *found;
  }

  void read(const Node& node, const CountType& type, Value& value, const Place&) {
    if (!is_kind(node, Node::Kind::scalar, type, value.place)) return;
    const std::string_view text = node.text;
    const std::string_view digits = text.starts_with('+') || text.starts_with('-') ? text.substr(1) : text;
    const std::size_t end = std::min(digits.find_first_not_of("0123456789"), digits.size());
    const std::string found = expectation(type) + ", found " + in_quotes(text);
    if (end == 0 || (end < digits.size() && digits[end] != ' ' && digits[end] != '%'))
      return report(Code::number_malformed, value.place, found);
    if (end < digits.size()) return report(Code::unit_unexpected, value.place, found);
    if (end > 1 && digits[0] == '0')
      return report(Code::number_malformed, value.place, found + ": write it without leading zeros");
    long count = 0;
    const std::string_view signed_digits = text.starts_with('-') ? text : digits;
    const auto error = std::from_chars(signed_digits.data(), signed_digits.data() + signed_digits.size(), count).ec;
    if (error != std::errc{} || count < type.least || count > type.most)
      return report(Code::count_out_of_bounds, value.place, found);
    value.content = count;
  }

  void read(const Node& node, const TextType& type, Value& value, const Place&) {
    if (!is_kind(node, Node::Kind::scalar, type, value.place)) return;
    if (node.text.empty()) return report(Code::empty_value, value.place, "expected a text, found nothing");
    if (node.text.size() > type.longest) {
      return report(Code::text_too_long, value.place,
                    "expected a text of at most " + std::to_string(type.longest) + " bytes, found " +
                        std::to_string(node.text.size()));
    }
    value.content = node.text;
  }

  void read(const Node& node, const NameType& type, Value& value, const Place&) {
    if (auto found = name(node, type, value.place)) value.content = std::move(*found);
  }

  void read(const Node& node, const ChoiceType& type, Value& value, const Place&) {
    if (!is_kind(node, Node::Kind::scalar, type, value.place)) return;
    if (std::find(type.words.begin(), type.words.end(), node.text) == type.words.end()) {
      return report(Code::choice_unknown, value.place, expectation(type) + ", found " + in_quotes(node.text),
                    did_you_mean(node.text, type.words));
    }
    value.content = node.text;
  }

  void read(const Node& node, const FlagType& type, Value& value, const Place&) {
    if (!is_kind(node, Node::Kind::scalar, type, value.place)) return;
    const bool yes = node.text == "yes" || node.text == "true";
    const bool no = node.text == "no" || node.text == "false";
    if (!yes && !no)
      return report(Code::choice_unknown, value.place, expectation(type) + ", found " + in_quotes(node.text));
    value.content = yes;
  }

  void read(const Node& node, const QuantityListType& type, Value& value, const Place&) {
    if (!is_kind(node, Node::Kind::sequence, type, value.place)) return;
    if (!count_fits(node.items.size(), type.least, type.most, "entries", value.place)) return;
    std::vector<double> list;
    for (std::size_t i = 0; i < node.items.size(); ++i) {
      value.items.push_back(place_of(node.items[i], item_path(value.place.path, i)));
      if (const auto found = quantity(node.items[i], type.item, value.items.back())) list.push_back(*found);
    }
    if (list.size() == node.items.size()) value.content = std::move(list);
  }

  void read(const Node& node, const NameListType& type, Value& value, const Place&) {
    if (!is_kind(node, Node::Kind::sequence, type, value.place)) return;
    if (!count_fits(node.items.size(), type.least, type.most, "names", value.place)) return;
    std::vector<std::string> list;
    for (std::size_t i = 0; i < node.items.size(); ++i) {
      value.items.push_back(place_of(node.items[i], item_path(value.place.path, i)));
      if (auto found = name(node.items[i], type.item, value.items.back())) list.push_back(std::move(*found));
    }
    if (list.size() == node.items.size()) value.content = std::move(list);
  }

  void read(const Node& node, const TableType& type, Value& value, const Place&) {
    if (!is_kind(node, Node::Kind::sequence, type, value.place)) return;
    if (!count_fits(node.items.size(), type.least_rows, type.most_rows, "rows", value.place)) return;
    std::vector<std::vector<double>> table;
    for (std::size_t i = 0; i < node.items.size(); ++i) {
      value.items.push_back(place_of(node.items[i], item_path(value.place.path, i)));
      table.push_back(read_row(node.items[i], type, value.items.back()));
      const bool both = i > 0 && !table[i].empty() && !table[i - 1].empty();
      if (type.rising && both && table[i][0] <= table[i - 1][0]) {
        report(Code::table_not_rising, value.items.back(),
               "the first column must rise, found " + in_quotes(node.items[i].items[0].text) + " after " +
                   in_quotes(node.items[i - 1].items[0].text));
      }
    }
    const bool whole = std::none_of(table.begin(), table.end(), [](const auto& row) { return row.empty(); });
    if (whole) value.content = std::move(table);
  }

  /// Empty if anything in the row is wrong.
  std::vector<double> read_row(const Node& row, const TableType& type, const Place& place) {
    if (!is_kind(row, Node::Kind::sequence, type, place)) return {};
    if (row.items.size() != type.columns.size()) {
      report(Code::table_shape, place,
             "expected a row of " + std::to_string(type.columns.size()) + " values, found " +
                 std::to_string(row.items.size()));
      return {};
    }
    std::vector<double> values;
    for (std::size_t j = 0; j < row.items.size(); ++j) {
      const auto found = quantity(row.items[j], type.columns[j], place_of(row.items[j], item_path(place.path, j)));
      if (found) values.push_back(*found);
    }
    if (values.size() < type.columns.size()) values.clear();
    return values;
  }

  void read(const Node& node, const SectionType& type, Value& value, const Place& key_place) {
    const bool is_list = type.shape == SectionType::Shape::list;
    if (!is_kind(node, is_list ? Node::Kind::sequence : Node::Kind::map, type, value.place)) return;
    if (type.shape == SectionType::Shape::one) {
      value.content = Value::Single{{read_section(node, *type.section, key_place)}};
      return;
    }
    if (!count_fits(is_list ? node.items.size() : node.entries.size(), 0, type.most, "entries", value.place)) return;
    if (is_list) {
      read_list(node, type, value);
    } else {
      read_by_name(node, type, value);
    }
  }

  void read_list(const Node& node, const SectionType& type, Value& value) {
    std::vector<Record> list;
    for (std::size_t i = 0; i < node.items.size(); ++i) {
      value.items.push_back(place_of(node.items[i], item_path(value.place.path, i)));
      const SectionType one{type.section};
      if (is_kind(node.items[i], Node::Kind::map, one, value.items.back()))
        list.push_back(read_section(node.items[i], *type.section, value.items.back()));
    }
    value.content = std::move(list);
  }

  void read_by_name(const Node& node, const SectionType& type, Value& value) {
    std::vector<std::pair<std::string, Record>> list;
    for (const Node::Entry& entry : node.entries) {
      const Place place{document_.file, entry.line, entry.column, join(value.place.path, entry.key)};
      value.items.push_back(place);
      if (!is_name(entry.key, type.name))
        report_name(entry.key, type.name, {place.file, place.line, place.column, value.place.path});
      const SectionType one{type.section};
      const Place value_place = place_of(entry.value, place.path);
      if (is_kind(entry.value, Node::Kind::map, one, value_place))
        list.emplace_back(entry.key, read_section(entry.value, *type.section, place));
    }
    value.content = std::move(list);
  }

  const Document& document_;
  std::vector<Diagnostic>& findings_;
  std::vector<FilledDefault>& defaults_;
  std::size_t added_ = 0;
  bool in_default_ = false;
};

Reading read_record(const Document& document, const Section& definition, std::vector<Diagnostic>& findings) {
  Reading reading;
  if (!document.complete) return reading;
  std::vector<Diagnostic> found;
  const Place top{document.file, 1, 1, {}};
  if (document.root.kind == Node::Kind::map) {
    reading.record = RecordReader(document, found, reading.defaults).read_section(document.root, definition, top);
  } else if (document.root.kind == Node::Kind::null) {
    found.push_back(document.finding(Code::empty_value, 1, 1, {}, "expected a map of keys, found nothing"));
  } else {
    found.push_back(document.finding(Code::wrong_kind, document.root.line, document.root.column, {},
                                     "expected a map of keys, found " + kind_text(document.root)));
  }
  // Findings of this text go in its order; those of other texts keep their places before them.
  const auto is_other = [&](const Diagnostic& one) { return one.place.file != document.file; };
  findings.insert(findings.end(), std::make_move_iterator(found.begin()), std::make_move_iterator(found.end()));
  const auto own = std::stable_partition(findings.begin(), findings.end(), is_other);
  std::stable_sort(own, findings.end(), [](const Diagnostic& a, const Diagnostic& b) {
    return std::pair(a.place.line, a.place.column) < std::pair(b.place.line, b.place.column);
  });
  return reading;
}

}  // namespace tileflux::input
