#pragma once
/// JSON from strangers, read with a message for everything that is not as it should be.

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/base/errors.h"

namespace tileflux::report {

using Json = nlohmann::ordered_json;

/// Throws Error with the place in the file.
[[noreturn]] void refuse_result(Code code, const std::string& file, const std::string& path,
                                const std::string& message);

/// Parses a text under bounds on depth, on texts and on the keys of an object. Throws Error: result_damaged for what is
/// no JSON object, with the byte at which it ends to be one; text_too_large.
Json parse_result(std::string_view text, const std::string& file);

/// A value of a result with its way from the top, for messages. Cheap to copy; the JSON must outlive it.
class View {
 public:
  View(const Json& json, const std::string& file) : json_(&json), file_(&file) {}

  /// Whether the key is there and not null.
  bool has(const char* key) const;
  /// What stands at a key. Throws Error (key_missing).
  View at(const char* key) const;
  /// The same, none where the key is missing or null.
  std::optional<View> find(const char* key) const;
  View at(std::size_t index) const;

  bool is_null() const { return json_->is_null(); }
  bool is_number() const { return json_->is_number(); }
  bool is_object() const { return json_->is_object(); }
  std::size_t size() const { return json_->size(); }

  /// These throw Error (wrong_kind) where something else stands.
  double number() const;
  bool flag() const;
  const std::string& text() const;
  std::vector<View> items() const;                            ///< of a list
  std::vector<std::pair<std::string, View>> entries() const;  ///< of an object, in the order of the file

  double number(const char* key) const { return at(key).number(); }
  bool flag(const char* key) const { return at(key).flag(); }
  const std::string& text(const char* key) const { return at(key).text(); }
  std::vector<View> items(const char* key) const { return at(key).items(); }
  std::vector<std::pair<std::string, View>> entries(const char* key) const { return at(key).entries(); }
  /// None where the key is missing or null.
  std::optional<double> number_if(const char* key) const;
  std::string text_or(const char* key, const std::string& otherwise) const;
  /// A list of numbers; null among them is not-a-number.
  std::vector<double> numbers() const;

  const std::string& path() const { return path_; }
  const std::string& file() const { return *file_; }
  [[noreturn]] void refuse(Code code, const std::string& message) const;

 private:
  View(const Json& json, const std::string& file, std::string path)
      : json_(&json), file_(&file), path_(std::move(path)) {}
  [[noreturn]] void wrong(const char* expected) const;

  const Json* json_;
  const std::string* file_;
  std::string path_;
};

}  // namespace tileflux::report
