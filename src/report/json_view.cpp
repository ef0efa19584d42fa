#include "report/json_view.h"

#include <fmt/format.h>

#include <limits>

namespace tileflux::report {

namespace {

constexpr std::size_t deepest = 24;
/// Objects keep the order of the file and are searched from the front, so many keys in one object cost their square.
constexpr std::size_t most_comparisons = 200'000'000;

/// Watches a text while it is parsed.
class Watch {
 public:
  explicit Watch(const std::string& file) : file_(file) {}

  bool operator()(int depth, Json::parse_event_t event, const Json&) {
    using Event = Json::parse_event_t;
    if (static_cast<std::size_t>(depth) > deepest)
      refuse_result(Code::text_too_large, file_, "", "it is nested deeper than any result");
    if (event == Event::object_start) keys_.push_back(0);
    if (event == Event::object_end) keys_.pop_back();
    if (event == Event::key) {
      comparisons_ += keys_.back()++;
      if (comparisons_ > most_comparisons)
        refuse_result(Code::text_too_large, file_, "", "its objects hold more keys than any result");
    }
    return true;
  }

 private:
  const std::string& file_;
  std::vector<std::size_t> keys_;
  std::size_t comparisons_ = 0;
};

std::string kind_of(const Json& json) {
  if (json.is_null()) return "nothing (null)";
  if (json.is_boolean()) return "yes or no";
  if (json.is_number()) return "a number";
  if (json.is_string()) return "a text";
  return json.is_array() ? "a list" : "an object";
}

}  // namespace

void refuse_result(Code code, const std::string& file, const std::string& path, const std::string& message) {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.place.file = file;
  diagnostic.place.path = path;
  diagnostic.message = message;
  throw Error(std::move(diagnostic));
}

Json parse_result(std::string_view text, const std::string& file) {
  try {
    const Json json = Json::parse(text, Watch(file));
    if (!json.is_object())
      refuse_result(Code::result_damaged, file, "", "a result is a JSON object, found " + kind_of(json));
    return json;
  } catch (const Json::parse_error& error) {
    const bool cut = error.byte >= text.size();
    refuse_result(Code::result_damaged, file, "",
                  cut ? fmt::format("it is no complete JSON text: it ends after {} bytes in the middle", text.size())
                      : fmt::format("it is no JSON text: byte {} of {} does not fit", error.byte, text.size()));
  } catch (const Json::exception&) {
    refuse_result(Code::result_damaged, file, "", "a number in it is too large to be read");
  }
}

bool View::has(const char* key) const {
  if (!json_->is_object()) return false;
  const auto found = json_->find(key);
  return found != json_->end() && !found->is_null();
}

View View::at(const char* key) const {
  if (!json_->is_object()) wrong("an object");
  const auto found = json_->find(key);
  std::string path = path_.empty() ? key : path_ + '.' + key;
  if (found == json_->end()) refuse_result(Code::key_missing, *file_, path, fmt::format("the result lacks '{}'", path));
  return {*found, *file_, std::move(path)};
}

std::optional<View> View::find(const char* key) const { return has(key) ? std::optional<View>(at(key)) : std::nullopt; }

View View::at(std::size_t index) const {
  if (!json_->is_array()) wrong("a list");
  std::string path = fmt::format("{}[{}]", path_, index);
  if (index >= json_->size()) refuse_result(Code::key_missing, *file_, path, "the list '" + path_ + "' ends before");
  return {(*json_)[index], *file_, std::move(path)};
}

double View::number() const {
  if (!json_->is_number()) wrong("a number");
  return json_->get<double>();
}

bool View::flag() const {
  if (!json_->is_boolean()) wrong("true or false");
  return json_->get<bool>();
}

const std::string& View::text() const {
  if (!json_->is_string()) wrong("a text");
  return json_->get_ref<const std::string&>();
}

std::vector<View> View::items() const {
  if (!json_->is_array()) wrong("a list");
  std::vector<View> views;
  views.reserve(json_->size());
  for (std::size_t i = 0; i < json_->size(); ++i) views.push_back(at(i));
  return views;
}

std::vector<std::pair<std::string, View>> View::entries() const {
  if (!json_->is_object()) wrong("an object");
  std::vector<std::pair<std::string, View>> views;
  views.reserve(json_->size());
  for (const auto& [key, value] : json_->items())
    views.emplace_back(key, View(value, *file_, path_.empty() ? key : path_ + '.' + key));
  return views;
}

std::optional<double> View::number_if(const char* key) const {
  return has(key) ? std::optional<double>(number(key)) : std::nullopt;
}

std::string View::text_or(const char* key, const std::string& otherwise) const {
  return has(key) ? text(key) : otherwise;
}

std::vector<double> View::numbers() const {
  std::vector<double> values;
  if (!json_->is_array()) wrong("a list");
  values.reserve(json_->size());
  for (const Json& one : *json_) {
    if (!one.is_null() && !one.is_number()) wrong("a list of numbers");
    values.push_back(one.is_null() ? std::numeric_limits<double>::quiet_NaN() : one.get<double>());
  }
  return values;
}

void View::refuse(Code code, const std::string& message) const { refuse_result(code, *file_, path_, message); }

void View::wrong(const char* expected) const {
  refuse(Code::wrong_kind, fmt::format("'{}' should be {}, found {}", path_, expected, kind_of(*json_)));
}

}  // namespace tileflux::report
