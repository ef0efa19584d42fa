#include "tileflux/input/record.h"

#include <algorithm>
#include <charconv>

#include "input/record_value.h"

namespace tileflux::input {

namespace {

[[noreturn]] void wrong_question(const std::string& key, const char* trouble) {
  throw Error(Code::internal, "the key '" + key + "' was asked of a record " + trouble);
}

}  // namespace

Record::Record() = default;
Record::~Record() = default;
Record::Record(const Record&) = default;
Record::Record(Record&&) noexcept = default;
Record& Record::operator=(const Record&) = default;
Record& Record::operator=(Record&&) noexcept = default;

const Record::Value& Record::value(const std::string& key) const {
  for (const auto& [name, value] : values_) {
    if (name == key) return value;
  }
  wrong_question(key, "whose definition does not have it");
}

template <class Content>
const Content& Record::content(const std::string& key) const {
  const Value& found = value(key);
  if (std::holds_alternative<std::monostate>(found.content)) wrong_question(key, "that has no value for it");
  const Content* content = std::get_if<Content>(&found.content);
  if (content == nullptr) wrong_question(key, "where it is of another kind");
  return *content;
}

template <class List>
const List& Record::list_or_empty(const std::string& key) const {
  static const List empty;
  return has(key) ? content<List>(key) : empty;
}

bool Record::has(const std::string& key) const { return !std::holds_alternative<std::monostate>(value(key).content); }
bool Record::stated(const std::string& key) const { return value(key).stated; }
double Record::quantity(const std::string& key) const { return content<double>(key); }
long Record::count(const std::string& key) const { return content<long>(key); }
bool Record::flag(const std::string& key) const { return content<bool>(key); }
const std::string& Record::text(const std::string& key) const { return content<std::string>(key); }
const std::vector<double>& Record::quantities(const std::string& key) const {
  return content<std::vector<double>>(key);
}
const std::vector<std::string>& Record::names(const std::string& key) const {
  return content<std::vector<std::string>>(key);
}
const std::vector<std::vector<double>>& Record::table(const std::string& key) const {
  return content<std::vector<std::vector<double>>>(key);
}
const std::vector<Record>& Record::list(const std::string& key) const {
  return list_or_empty<std::vector<Record>>(key);
}

std::optional<double> Record::quantity_if(const std::string& key) const {
  if (!has(key)) return std::nullopt;
  return quantity(key);
}

const Record& Record::section(const std::string& key) const { return content<Value::Single>(key).record.front(); }

const std::vector<std::pair<std::string, Record>>& Record::by_name(const std::string& key) const {
  return list_or_empty<std::vector<std::pair<std::string, Record>>>(key);
}

double* Record::quantity_place(std::string_view path) {
  const std::string_view key = path.substr(0, path.find_first_of(".["));
  const auto found = std::find_if(values_.begin(), values_.end(), [&](const auto& entry) { return entry.first == key; });
  if (found == values_.end() || !found->second.stated) return nullptr;
  path.remove_prefix(key.size());
  Value::Content& content = found->second.content;
  if (path.empty()) return std::get_if<double>(&content);
  if (auto* list = std::get_if<std::vector<Record>>(&content)) {
    std::size_t item = 0;
    const std::size_t close = path.find("].");
    if (path[0] != '[' || close == std::string_view::npos) return nullptr;
    const auto read = std::from_chars(path.data() + 1, path.data() + close, item);
    if (read.ec != std::errc{} || read.ptr != path.data() + close || item >= list->size()) return nullptr;
    return (*list)[item].quantity_place(path.substr(close + 2));
  }
  if (path[0] != '.') return nullptr;
  path.remove_prefix(1);
  if (auto* single = std::get_if<Value::Single>(&content)) return single->record.front().quantity_place(path);
  auto* named = std::get_if<std::vector<std::pair<std::string, Record>>>(&content);
  if (named == nullptr) return nullptr;
  std::pair<std::string, Record>* longest = nullptr;  // names may hold dots
  for (auto& entry : *named) {
    const bool fits = path.starts_with(entry.first) && path.substr(entry.first.size()).starts_with('.');
    if (fits && (longest == nullptr || entry.first.size() > longest->first.size())) longest = &entry;
  }
  return longest == nullptr ? nullptr : longest->second.quantity_place(path.substr(longest->first.size() + 1));
}

Place Record::place(const std::string& key) const { return value(key).place; }

Place Record::place(const std::string& key, std::size_t item) const {
  const Value& found = value(key);
  return item < found.items.size() ? found.items[item] : found.place;
}

Place Record::place() const { return place_; }

}  // namespace tileflux::input
