#include "tileflux/tile/case_difference.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "tile/case_reading.h"

namespace tileflux::tile {

namespace {

using input::Node;

/// What stands there, as it would stand on one line.
std::string flow_text(const Node& node) {
  std::string text;
  switch (node.kind) {
    case Node::Kind::null:
      return "nothing";
    case Node::Kind::scalar:
      return node.text;
    case Node::Kind::sequence:
      for (const Node& item : node.items) text += (text.empty() ? "" : ", ") + flow_text(item);
      return '[' + text + ']';
    case Node::Kind::map:
      for (const Node::Entry& entry : node.entries)
        text += (text.empty() ? "" : ", ") + entry.key + ": " + flow_text(entry.value);
      return '{' + text + '}';
  }
  return text;
}

const Node* child_of(const Node* map, const std::string& key) {
  if (map == nullptr) return nullptr;
  const auto entry =
      std::find_if(map->entries.begin(), map->entries.end(), [&](const Node::Entry& one) { return one.key == key; });
  return entry == map->entries.end() ? nullptr : &entry->value;
}

/// Properties from the library that a case uses.
std::set<std::string> uses_of(const CaseTemplate& cases) {
  std::set<std::string> uses;
  for (const UsedSource& source : cases.as_written().sources) {
    if (source.basis != "case") uses.insert(source.material + '.' + source.property);
  }
  return uses;
}

std::vector<std::string> missing_in(const std::set<std::string>& other, const std::set<std::string>& all) {
  std::vector<std::string> missing;
  std::set_difference(all.begin(), all.end(), other.begin(), other.end(), std::back_inserter(missing));
  return missing;
}

}  // namespace

/// The way to what is taken over: keys, and of lists the item.
struct CasePair::Edit {
  struct Move {
    std::string key;  ///< empty: an item
    std::size_t item = 0;
  };
  std::vector<Move> way;

  const Node* in(const Node* node) const {
    for (const Move& move : way) {
      if (node == nullptr) return nullptr;
      node = move.key.empty() ? &node->items[move.item] : child_of(node, move.key);
    }
    return node;
  }

  /// Puts what stands in `from` in place of what stands in `into`; removes it where nothing does.
  void take_over(Node& into, const Node& from) const {
    Node* parent = &into;
    for (auto move = way.begin(); move + 1 != way.end(); ++move)
      parent = move->key.empty() ? &parent->items[move->item] : const_cast<Node*>(child_of(parent, move->key));
    const Move& last = way.back();
    const Node* taken = in(&from);
    if (last.key.empty()) {
      parent->items[last.item] = *taken;
      return;
    }
    auto& entries = parent->entries;
    const auto entry =
        std::find_if(entries.begin(), entries.end(), [&](const Node::Entry& one) { return one.key == last.key; });
    if (taken == nullptr && entry != entries.end())
      entries.erase(entry);
    else if (entry != entries.end())
      entry->value = *taken;
    else if (taken != nullptr)
      entries.push_back({last.key, taken->line, taken->column, *taken});
  }
};

/// Goes through both trees side by side.
class CasePair::Search {
 public:
  Search(const CaseTemplate& a, const CaseTemplate& b) : a_(a), b_(b) {
    for (const std::string& path : a.paths()) in_a_.insert(path);
    for (const std::string& path : b.paths()) in_b_.insert(path);
  }

  std::vector<std::pair<CaseDifference, Edit>> found() {
    walk(&a_.document().root, &b_.document().root, "");
    std::stable_sort(found_.begin(), found_.end(), [](const auto& one, const auto& other) {
      const auto rank = [](const CaseDifference& d) {
        return std::pair(d.of_a_study, d.kind != CaseDifference::Kind::value);
      };
      return rank(one.first) < rank(other.first);
    });
    return std::move(found_);
  }

 private:
  using Kind = CaseDifference::Kind;

  /// The value of a quantity that both cases have.
  std::optional<std::pair<input::QuantityAt, input::QuantityAt>> quantities(const std::string& path) const {
    if (!in_a_.contains(path) || !in_b_.contains(path)) return std::nullopt;
    std::pair both{a_.value_at(path), b_.value_at(path)};
    if (!both.first.value_si || !both.second.value_si) return std::nullopt;
    return both;
  }

  static std::string default_of(const CaseTemplate& cases, const std::string& path) {
    for (const input::FilledDefault& one : cases.as_written().defaults) {
      if (one.path == path) return one.text;
    }
    return "";
  }

  void add(Kind kind, const std::string& path, const std::string& a_text, const std::string& b_text) {
    CaseDifference one{kind, path, {}, 0.0, 0.0, a_text, b_text, is_of_a_study(path) || path == "title"};
    found_.emplace_back(std::move(one), Edit{way_});
  }

  void add_value(const input::QuantityAt& a, const input::QuantityAt& b) {
    constexpr double last_digits = 1e-13;  // of another way to write the same value
    const double size = std::max(std::abs(*a.value_si), std::abs(*b.value_si));
    if (std::abs(*a.value_si - *b.value_si) <= last_digits * size) return;
    add(Kind::value, a.path, a.text.value_or(""), b.text.value_or(""));
    CaseDifference& one = found_.back().first;
    one.dimension = a.type.dimension;
    one.a_si = *a.value_si;
    one.b_si = *b.value_si;
  }

  /// Whether all that stands in only one of the cases has a value in the other too, by its defaults.
  bool is_covered(const Node& node, const std::string& path) const {
    if (node.kind != Node::Kind::map) return quantities(path).has_value();
    return !node.entries.empty() && std::all_of(node.entries.begin(), node.entries.end(), [&](const auto& entry) {
      return is_covered(entry.value, path + '.' + entry.key);
    });
  }

  void walk(const Node* a, const Node* b, const std::string& path) {
    if (const auto both = quantities(path)) return add_value(both->first, both->second);
    if (a == nullptr || b == nullptr) {
      const Node& standing = a != nullptr ? *a : *b;
      if (is_covered(standing, path)) return walk_map(a, b, path);
      const std::string other = default_of(a != nullptr ? b_ : a_, path);
      if (other.empty())
        add(a != nullptr ? Kind::only_a : Kind::only_b, path, a != nullptr ? flow_text(*a) : "",
            b != nullptr ? flow_text(*b) : "");
      else if (standing.kind != Node::Kind::scalar || standing.text != other)
        add(Kind::words, path, a != nullptr ? flow_text(*a) : other, b != nullptr ? flow_text(*b) : other);
      return;
    }
    if (a->kind == Node::Kind::map && b->kind == Node::Kind::map) return walk_map(a, b, path);
    const bool lists = a->kind == Node::Kind::sequence && b->kind == Node::Kind::sequence;
    if (lists && a->items.size() == b->items.size()) return walk_items(*a, *b, path);
    const std::string a_text = flow_text(*a), b_text = flow_text(*b);
    if (a_text != b_text) add(Kind::words, path, a_text, b_text);
  }

  void walk_map(const Node* a, const Node* b, const std::string& path) {
    const auto go = [&](const std::string& key) {
      way_.push_back({key, 0});
      walk(child_of(a, key), child_of(b, key), path.empty() ? key : path + '.' + key);
      way_.pop_back();
    };
    if (a != nullptr) {
      for (const Node::Entry& entry : a->entries) go(entry.key);
    }
    if (b == nullptr) return;
    for (const Node::Entry& entry : b->entries) {
      if (child_of(a, entry.key) == nullptr) go(entry.key);
    }
  }

  void walk_items(const Node& a, const Node& b, const std::string& path) {
    for (std::size_t i = 0; i < a.items.size(); ++i) {
      const std::string item = path + '[' + std::to_string(i) + ']';
      const auto before = static_cast<std::ptrdiff_t>(found_.size());
      way_.push_back({{}, i});
      walk(&a.items[i], &b.items[i], item);
      // An item that differs in more than values is another item.
      if (std::any_of(found_.begin() + before, found_.end(),
                      [](const auto& one) { return one.first.kind != Kind::value; })) {
        found_.erase(found_.begin() + before, found_.end());
        add(Kind::words, item, flow_text(a.items[i]), flow_text(b.items[i]));
      }
      way_.pop_back();
    }
  }

  const CaseTemplate& a_;
  const CaseTemplate& b_;
  std::set<std::string> in_a_, in_b_;
  std::vector<Edit::Move> way_;
  std::vector<std::pair<CaseDifference, Edit>> found_;
};

CasePair::CasePair(const CaseTemplate& a, const CaseTemplate& b) : a_(a), b_(b) {
  for (auto& [difference, edit] : Search(a, b).found()) {
    differences_.push_back(std::move(difference));
    edits_.push_back(std::move(edit));
  }
  const std::set<std::string> a_uses = uses_of(a), b_uses = uses_of(b);
  only_a_uses_ = missing_in(b_uses, a_uses);
  only_b_uses_ = missing_in(a_uses, b_uses);
}

CasePair::~CasePair() = default;

const CaseTemplate& CasePair::taken_over(const std::vector<bool>& from_b) const {
  if (std::none_of(from_b.begin(), from_b.end(), [](bool one) { return one; })) return a_;
  std::unique_ptr<CaseTemplate>& made = templates_[from_b];
  if (!made) {
    input::Document document = a_.document();
    for (std::size_t i = 0; i < from_b.size(); ++i) {
      if (from_b[i]) edits_[i].take_over(document.root, b_.document().root);
    }
    made = std::make_unique<CaseTemplate>(a_.of(std::move(document)));
  }
  return *made;
}

CaseFile CasePair::between(std::span<const double> shares) const {
  std::vector<bool> from_b(differences_.size(), false);
  std::vector<Override> values;
  for (std::size_t i = 0; i < differences_.size(); ++i) {
    const CaseDifference& one = differences_[i];
    if (one.kind != CaseDifference::Kind::value)
      from_b[i] = shares[i] == 1.0;
    else if (shares[i] != 0.0)
      values.emplace_back(one.path, shares[i] == 1.0 ? one.b_si : one.a_si + shares[i] * (one.b_si - one.a_si));
  }
  return taken_over(from_b).with(values);
}

}  // namespace tileflux::tile
