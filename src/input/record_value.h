#pragma once
/// What a record holds for one key.

#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "tileflux/input/record.h"

namespace tileflux::input {

struct Record::Value {
  /// The record of a section that is no list.
  struct Single {
    std::vector<Record> record;
  };
  using Content = std::variant<std::monostate, double, long, bool, std::string, std::vector<double>,
                               std::vector<std::string>, std::vector<std::vector<double>>, Single, std::vector<Record>,
                               std::vector<std::pair<std::string, Record>>>;

  Content content;  ///< monostate: absent, or not readable
  bool stated = false;
  Place place;
  std::vector<Place> items;
};

}  // namespace tileflux::input
