// The committed pages of docs/ that are generated must be what the present program would write.

#include <gtest/gtest.h>

#include <filesystem>

#include "support/child_process.h"
#include "support/documents.h"
#include "support/temporary_directory.h"

namespace tileflux::generated_documents_test {

const std::filesystem::path docs = std::filesystem::path(TILEFLUX_PROJECT_DIR) / "docs";

TEST(GeneratedDocuments, AreAsCommitted) {
  const std::vector<test::Document> documents = test::generated_documents(docs);
  ASSERT_EQ(documents.size(), 3u);
  for (const auto& [name, text] : documents) {
    EXPECT_EQ(test::read_file(docs / name), text)
        << name << " is out of date: cmake --build build --target write_documents";
  }
}

TEST(GeneratedDocuments, HoldTheSchemaThatTheCommandPrints) {
  const test::ProgramResult result = test::run_program({TILEFLUX_COMMAND, "check", "--schema"});
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
  EXPECT_EQ(result.standard_output, test::read_file(docs / "case.schema.json"));
}

TEST(ExampleCase, IsSoundAndHasASteadyState) {
  const std::string file = (docs / "example-case.yaml").string();
  for (const char* verb : {"check", "balance"}) {
    const test::ProgramResult result = test::run_program({TILEFLUX_COMMAND, verb, file});
    EXPECT_EQ(result.exit_status, 0) << verb << '\n' << result.standard_output << result.standard_error;
  }
}

}  // namespace tileflux::generated_documents_test
