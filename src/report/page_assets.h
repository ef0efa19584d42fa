#pragma once
/// What is embedded for pages: made from src/report/page when the project is built, or empty (embedded/missing.cpp).

#include <string_view>

namespace tileflux::report {

struct PageAssets {
  std::string_view page;  ///< mustache
  std::string_view style;
  std::string_view style_hash;  ///< SHA-256 in base64, as a content-security-policy wants it
  std::string_view script;
  std::string_view script_hash;
  std::string_view pictures;  ///< for node: charts in, pictures out
};

/// All empty in a build without pages.
PageAssets page_assets();

}  // namespace tileflux::report
