#pragma once
/// The pages of docs/ that are written from the program's own lists, so that they cannot fall behind it.

#include <filesystem>
#include <string>
#include <vector>

namespace tileflux::test {

struct Document {
  std::string name;  ///< within docs/
  std::string text;
};

/// case-reference.md and case.schema.json from the definition of case files, errors.md from the list of codes.
/// `docs` is the directory that holds example-case.yaml, which opens the case reference.
std::vector<Document> generated_documents(const std::filesystem::path& docs);

}  // namespace tileflux::test
