#pragma once
/// Why a value has no answer.

#include <algorithm>

#include "tileflux/base/errors.h"

namespace tileflux::studies {

/// What an evaluation threw, as the reason why there is no answer. A fault of the program is none: it is thrown on.
inline Diagnostic reason_of(const Error& error) {
  constexpr int fault_of_ours = 4;
  if (error.exit_status() == fault_of_ours) throw error;
  const auto& all = error.diagnostics();
  return *std::find_if(all.begin(), all.end(), [](const Diagnostic& d) { return d.severity == Severity::error; });
}

}  // namespace tileflux::studies
