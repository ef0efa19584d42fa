/// documents_writer DOCS: rewrites the generated pages in that directory.

#include <cstdio>
#include <exception>

#include "support/documents.h"
#include "support/temporary_directory.h"

int main(int argc, char** argv) {
  if (argc != 2) {
    std::fprintf(stderr, "usage: %s DOCS\n", argv[0]);
    return 2;
  }
  try {
    const std::filesystem::path docs = argv[1];
    for (const auto& [name, text] : tileflux::test::generated_documents(docs))
      tileflux::test::write_file(docs / name, text);
  } catch (const std::exception& trouble) {
    std::fprintf(stderr, "%s\n", trouble.what());
    return 1;
  }
  return 0;
}
