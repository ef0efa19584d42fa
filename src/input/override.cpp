#include "tileflux/input/override.h"

#include <algorithm>
#include <charconv>
#include <functional>
#include <utility>

#include "input/wording.h"
#include "tileflux/base/spelling.h"

namespace tileflux::input {

namespace {

/// One move down the tree: into a key of a map, or to an item of a list.
struct Step {
  std::string key;               ///< empty: an item
  std::size_t item = 0;          ///< of a list
  const Field* field = nullptr;  ///< of a key that a section defines; none for names of the user's choice
};

/// A path followed through definition and tree as far as it goes.
struct Way {
  std::vector<Step> steps;
  const Node* node = nullptr;  ///< none: does not stand
  const Field* field = nullptr;
  QuantityType type;
  Place place;
};

const Node::Entry* find(const Node* map, std::string_view key) {
  if (map == nullptr) return nullptr;
  const auto found = std::find_if(map->entries.begin(), map->entries.end(),
                                  [&](const Node::Entry& entry) { return entry.key == key; });
  return found == map->entries.end() ? nullptr : &*found;
}

const Field* find(const Section& section, std::string_view key) {
  const auto found =
      std::find_if(section.fields.begin(), section.fields.end(), [&](const Field& field) { return field.key == key; });
  return found == section.fields.end() ? nullptr : &*found;
}

Node node_of_default(const Field& field) {
  std::vector<Diagnostic> findings;
  Node node = parse_document(*field.default_text, "default of " + field.key, findings).root;
  if (!findings.empty())
    throw Error(Code::internal, "the default of '" + field.key + "' cannot be read: " + findings.front().message);
  return node;
}

std::string path_of(const std::vector<Step>& steps) {
  std::string path;
  for (const Step& step : steps) {
    if (step.key.empty())
      path += '[' + std::to_string(step.item) + ']';
    else
      path += (path.empty() ? "" : ".") + step.key;
  }
  return path;
}

/// Visits every quantity that stands or may be stated.
class Catalogue {
 public:
  explicit Catalogue(std::vector<std::string>& paths) : paths_(paths) {}

  void section(const Node* node, const Section& section, const std::string& path) {
    for (const Field& field : section.fields) {
      const Node::Entry* entry = find(node, field.key);
      const std::string inner = path.empty() ? field.key : path + '.' + field.key;
      std::visit([&](const auto& type) { visit(entry != nullptr ? &entry->value : nullptr, field, type, inner); },
                 field.type);
    }
  }

 private:
  template <class Other>
  void visit(const Node*, const Field&, const Other&, const std::string&) {}
  void visit(const Node*, const Field&, const QuantityType&, const std::string& path) { paths_.push_back(path); }
  void visit(const Node* node, const Field&, const QuantityListType&, const std::string& path) {
    for (std::size_t i = 0; node != nullptr && i < node->items.size(); ++i) paths_.push_back(item(path, i));
  }
  void visit(const Node* node, const Field&, const TableType&, const std::string& path) {
    for (std::size_t row = 0; node != nullptr && row < node->items.size(); ++row) {
      for (std::size_t column = 0; column < node->items[row].items.size(); ++column)
        paths_.push_back(item(item(path, row), column));
    }
  }
  void visit(const Node* node, const Field& field, const SectionType& type, const std::string& path) {
    if (type.shape == SectionType::Shape::one) {
      if (node != nullptr || field.default_text) section(node, *type.section, path);
    } else if (node != nullptr && type.shape == SectionType::Shape::list) {
      for (std::size_t i = 0; i < node->items.size(); ++i) section(&node->items[i], *type.section, item(path, i));
    } else if (node != nullptr) {
      for (const Node::Entry& entry : node->entries) section(&entry.value, *type.section, path + '.' + entry.key);
    }
  }
  static std::string item(const std::string& path, std::size_t index) {
    return path + '[' + std::to_string(index) + ']';
  }

  std::vector<std::string>& paths_;
};

/// Follows a path. What is left of it shrinks from the front.
class Follower {
 public:
  Follower(const Document& document, const Section& definition, std::string_view path)
      : document_(document), definition_(definition), whole_(path), rest_(path) {}

  Way follow() {
    way_.node = &document_.root;
    way_.place = {document_.file, document_.root.line, document_.root.column, {}};
    section(definition_);
    return std::move(way_);
  }

 private:
  [[noreturn]] void refuse(Code code, const std::string& message, const std::string& suggestion = {}) const {
    Diagnostic finding = document_.finding(code, way_.place.line, way_.place.column, {}, message);
    finding.suggestion = suggestion;
    throw Error(std::move(finding));
  }

  [[noreturn]] void refuse_unknown(const std::string& message) const {
    const std::vector<std::string> known = quantity_paths(document_, definition_);
    std::string nearest = nearest_spelling(whole_, known);
    // A key alone, or the right key on a wrong way.
    const std::string last = '.' + whole_.substr(whole_.rfind('.') + 1);
    for (const std::string& path : known) {
      if (nearest.empty() && ('.' + path).ends_with(last)) nearest = path;
    }
    refuse(Code::key_unknown, message, nearest.empty() ? std::string() : "did you mean '" + nearest + "'?");
  }

  std::string here() const {
    const std::string path = path_of(way_.steps);
    return path.empty() ? "the case" : in_quotes(path);
  }

  void enter(std::string key, const Field* field) {
    const Node::Entry* entry = find(way_.node, key);
    way_.steps.push_back({std::move(key), 0, field});
    way_.node = entry != nullptr ? &entry->value : nullptr;
    if (entry != nullptr) way_.place = {document_.file, entry->value.line, entry->value.column, {}};
  }

  void section(const Section& section) {
    const std::string key(rest_.substr(0, rest_.find_first_of(".[")));
    const Field* field = find(section, key);
    if (field == nullptr) refuse_unknown("there is no " + in_quotes(key) + " in " + here());
    rest_.remove_prefix(key.size());
    enter(key, field);
    way_.field = field;
    std::visit([&](const auto& type) { value(*field, type); }, field->type);
  }

  template <class Other>
  void value(const Field&, const Other&) const {
    refuse(Code::wrong_kind,
           here() + " is no quantity: only values with a unit, or plain numbers that need none, vary");
  }
  void value(const Field&, const QuantityType& type) {
    way_.type = type;
    end();
  }
  void value(const Field&, const QuantityListType& type) {
    item("a list of values");
    way_.type = type.item;
    end();
  }
  void value(const Field&, const TableType& type) {
    item("a table");
    const std::size_t column = item("a row of a table");
    way_.type = type.columns[column];
    end();
  }
  void value(const Field& field, const SectionType& type) {
    if (type.shape == SectionType::Shape::list) item("a list");
    if (!rest_.starts_with('.')) refuse(Code::wrong_kind, here() + " is no quantity: say which of its keys");
    if (way_.node == nullptr && (type.shape != SectionType::Shape::one || !field.default_text))
      refuse(Code::key_missing, "the case has no " + here() + ", so nothing in it can vary");
    rest_.remove_prefix(1);
    if (type.shape == SectionType::Shape::by_name) name();
    section(*type.section);
  }

  /// A name of the user's choice, which may hold dots: the longest that fits.
  void name() {
    const Node::Entry* longest = nullptr;
    for (const Node::Entry& entry : way_.node->entries) {
      const bool fits = rest_.starts_with(entry.key) && rest_.substr(entry.key.size()).starts_with('.');
      if (fits && (longest == nullptr || entry.key.size() > longest->key.size())) longest = &entry;
    }
    if (longest == nullptr) refuse_unknown("there is no " + in_quotes(rest_) + " in " + here());
    rest_.remove_prefix(longest->key.size() + 1);
    enter(longest->key, nullptr);
  }

  std::size_t item(const char* what) {
    std::size_t index = 0;
    const std::size_t close = rest_.find(']');
    const bool opened = rest_.starts_with('[') && close != std::string_view::npos;
    const char* end = rest_.data() + (opened ? close : 0);
    const auto read = opened ? std::from_chars(rest_.data() + 1, end, index) : std::from_chars_result{};
    if (!opened || read.ec != std::errc{} || read.ptr != end)
      refuse(Code::wrong_kind, here() + " is " + what + ": say which of its entries, counted from 0, such as '" +
                                   path_of(way_.steps) + "[0]'");
    const std::size_t count = way_.node != nullptr ? way_.node->items.size() : 0;
    if (index >= count)
      refuse(Code::count_out_of_bounds, here() + " has " + std::to_string(count) +
                                            " entries, counted from 0; there is no [" + std::to_string(index) + ']');
    rest_.remove_prefix(close + 1);
    way_.steps.push_back({{}, index, nullptr});
    way_.node = &way_.node->items[index];
    way_.place = {document_.file, way_.node->line, way_.node->column, {}};
    return index;
  }

  void end() const {
    if (!rest_.empty()) refuse_unknown(here() + " is a single value, so " + in_quotes(rest_) + " leads nowhere");
  }

  const Document& document_;
  const Section& definition_;
  std::string whole_;
  std::string_view rest_;
  Way way_;
};

/// The node that steps lead to; keys and maps on the way that do not stand are added.
Node& node_made(Node& root, const std::vector<Step>& steps) {
  Node* node = &root;
  for (const Step& step : steps) {
    if (step.key.empty()) {
      node = &node->items[step.item];
      continue;
    }
    auto entry = std::find_if(node->entries.begin(), node->entries.end(),
                              [&](const Node::Entry& one) { return one.key == step.key; });
    if (entry == node->entries.end()) {
      Node made;
      const auto* section = step.field != nullptr ? std::get_if<SectionType>(&step.field->type) : nullptr;
      if (section != nullptr) made = node_of_default(*step.field);
      entry =
          node->entries.insert(node->entries.end(), Node::Entry{step.key, node->line, node->column, std::move(made)});
    }
    node = &entry->value;
  }
  return *node;
}

}  // namespace

QuantityAt quantity_at(const Document& document, const Section& definition, std::string_view path) {
  const Way way = Follower(document, definition, path).follow();
  QuantityAt found{std::string(path), way.type, {}, {}, way.node != nullptr, way.place};
  if (way.node != nullptr)
    found.text = way.node->text;
  else if (way.field->default_text)
    found.text = way.field->default_text;
  if (found.text) found.value_si = units::parse_quantity(*found.text, way.type.dimension).value_si;
  found.place.path = found.path;
  return found;
}

std::vector<std::string> quantity_paths(const Document& document, const Section& definition) {
  std::vector<std::string> paths;
  Catalogue(paths).section(&document.root, definition, {});
  return paths;
}

void put_quantity(Document& document, const Section& definition, std::string_view path, double value_si) {
  const Way way = Follower(document, definition, path).follow();
  Node& node = node_made(document.root, way.steps);
  node = {};
  node.kind = Node::Kind::scalar;
  node.text = number_text(value_si, way.type.dimension.si_unit);
}

}  // namespace tileflux::input
