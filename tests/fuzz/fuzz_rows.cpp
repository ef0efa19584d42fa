/// Fuzz target of a sweep that is taken up again: its files were cut or changed in any way. Either they are refused with
/// a code, or the sweep ends with the same bytes as if nothing had happened.
///
/// An input holds the CSV file, a line `====`, and what is done to the sound netCDF file: its length in two bytes, then
/// changes of three bytes each, place and value.

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <limits>
#include <string>
#include <string_view>
#include <vector>

#include "fuzz/fuzz_files.h"
#include "tileflux/base/errors.h"
#include "tileflux/results/answers_file.h"

using namespace tileflux;
using namespace tileflux::results;

/// The netCDF library keeps memory of files that it refuses.
extern "C" const char* __asan_default_options() { return "detect_leaks=0"; }

namespace {

constexpr const char* identity = "{\"case\": \"one\"}\n";
constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

AnswersLayout layout() {
  AnswersLayout layout;
  layout.title = "plate";
  layout.rows = 6;
  layout.varied = {{"a", "m", "first", {1.0, 2.0}}, {"b", "s", "second", {0.5, 0.75, 1.0}}};
  layout.answers = {{"power", "W", "light", {}}, {"regime", "1", "what sets it", {"beam off", "sun-limited"}}};
  layout.troubles = {"key-unknown", "steady-not-found"};
  return layout;
}

void finish(const OutputDirectory& directory) {
  AnswersWriter writer(directory, layout(), identity);
  if (writer.rows() > 6) std::abort();
  for (long long row = writer.rows(); row < 6; ++row) {
    const std::vector<double> inputs{row < 3 ? 1.0 : 2.0, 0.5 + 0.25 * static_cast<double>(row % 3)};
    const std::vector<double> answers{0.1 * static_cast<double>(row), row == 4 ? nothing : 1.0};
    writer.append({inputs, answers, 0, ""});
  }
  writer.close();
}

struct Files {
  std::string csv, netcdf;
  bool operator==(const Files&) const = default;
};

Files files_of(const OutputDirectory& directory) {
  return {fuzz::content(directory.path() / "answers.csv"), fuzz::content(directory.path() / "answers.nc")};
}

std::string changed(std::string bytes, std::string_view changes) {
  const auto byte = [&](std::size_t i) { return static_cast<std::size_t>(static_cast<unsigned char>(changes[i])); };
  if (changes.size() >= 2) bytes.resize(std::min(bytes.size(), byte(0) * 256 + byte(1)));
  for (std::size_t i = 2; i + 2 < changes.size() && !bytes.empty(); i += 3)
    bytes[(byte(i) * 256 + byte(i + 1)) % bytes.size()] = changes[i + 2];
  return bytes;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const OutputDirectory directory(fuzz::folder("rows"));
  static const Files sound = [] {
    finish(directory);
    return files_of(directory);
  }();
  const auto given = fuzz::parts({reinterpret_cast<const char*>(data), size}, 2);
  fuzz::write(directory.path() / "answers.csv", given[0]);
  fuzz::write(directory.path() / "answers.nc", changed(sound.netcdf, given[1]));
  try {
    finish(directory);
    if (files_of(directory) != sound) std::abort();
  } catch (const Error& error) {
    if (error.diagnostics().empty() || error.code() == Code::internal) std::abort();
  }
  return 0;
}
