#pragma once
/// A document read against its definition: validated values in SI units, each with its place.

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "tileflux/input/definition.h"
#include "tileflux/input/document.h"

namespace tileflux::input {

/// One map of the file after validation. Asking for a key that the definition does not have is a programming error
/// (Error with Code::internal); asking for one that is absent and has no default likewise: ask `has` first.
class Record {
 public:
  struct Value;

  bool has(const std::string& key) const;     ///< stands in the file or has a default
  bool stated(const std::string& key) const;  ///< stands in the file
  double quantity(const std::string& key) const;
  std::optional<double> quantity_if(const std::string& key) const;
  long count(const std::string& key) const;
  bool flag(const std::string& key) const;
  const std::string& text(const std::string& key) const;  ///< text, name or choice
  const std::vector<double>& quantities(const std::string& key) const;
  const std::vector<std::string>& names(const std::string& key) const;
  const std::vector<std::vector<double>>& table(const std::string& key) const;
  const Record& section(const std::string& key) const;
  const std::vector<Record>& list(const std::string& key) const;                             ///< empty if absent
  const std::vector<std::pair<std::string, Record>>& by_name(const std::string& key) const;  ///< empty if absent

  /// Where the value of a stated quantity is kept, by its path from here: `sun.distance`, `joins[0].conductance`. Null
  /// where no such quantity stands; items of lists and tables of values are not reached. Whoever puts another value
  /// there answers for its range.
  double* quantity_place(std::string_view path);

  /// The place of a key's value, of an item of its list, or of the record itself.
  Place place(const std::string& key) const;
  Place place(const std::string& key, std::size_t item) const;
  Place place() const;

  Record();
  ~Record();
  Record(const Record&);
  Record(Record&&) noexcept;
  Record& operator=(const Record&);
  Record& operator=(Record&&) noexcept;

 private:
  friend class RecordReader;
  const Value& value(const std::string& key) const;
  template <class Content>
  const Content& content(const std::string& key) const;
  template <class List>
  const List& list_or_empty(const std::string& key) const;

  std::vector<std::pair<std::string, Value>> values_;
  Place place_;
};

/// A default that the reader filled in: `sun.tilt = 0 deg`.
struct FilledDefault {
  std::string path;
  std::string text;
};

/// The outcome of reading: the record is complete only if no finding is an error.
struct Reading {
  Record record;
  std::vector<FilledDefault> defaults;
};

/// Reads a document against a definition, appending every finding: unknown key (with the nearest spelling), missing key
/// (placed at the key of its section), wrong kind, wrong dimension, out of range, ... all of them, at most 100, in the
/// order of the file together with those of this file that `findings` already holds. Items of lists are counted from 0
/// in paths: `stack[1].thickness`. A document that is not complete is not read: its own findings say why. Throws Error
/// (internal) if the definition is wrong: a default that cannot be read, a group that names a key that is not there.
Reading read_record(const Document& document, const Section& definition, std::vector<Diagnostic>& findings);

}  // namespace tileflux::input
