#pragma once
/// Warnings that go with a study's answer.

#include <string>
#include <utility>

#include "tileflux/base/errors.h"

namespace tileflux::studies {

inline Diagnostic warning_of(Code code, std::string message) {
  Diagnostic warning;
  warning.code = code;
  warning.severity = Severity::warning;
  warning.message = std::move(message);
  return warning;
}

}  // namespace tileflux::studies
