#pragma once
/// The materials library that ships, read once for all tests of a program.

#include "tileflux/materials/library.h"

namespace tileflux::test {

inline const materials::Library& shipped_library() {
  static const materials::Library library = materials::read_library(TILEFLUX_PROJECT_DIR "/materials");
  return library;
}

}  // namespace tileflux::test
