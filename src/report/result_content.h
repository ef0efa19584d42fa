#pragma once
/// What a result holds: the JSON, and what stood beside it.

#include <optional>

#include "report/json_view.h"
#include "tileflux/report/result_files.h"
#include "tileflux/results/read_back.h"

namespace tileflux::report {

struct ResultContent {
  Json json;
  std::string file;  ///< for messages
  std::optional<results::SeriesTable> series;
  std::optional<results::AnswersTable> answers;

  View view() const { return {json, file}; }
};

}  // namespace tileflux::report
