/// Fuzz target of netCDF read back: any bytes of the classic format are refused with a code, or give a series or answers
/// that hold together. What lies in HDF5 is read by a library of its own and only behind a digest that fits.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "fuzz/fuzz_files.h"
#include "tileflux/base/errors.h"
#include "tileflux/results/read_back.h"

using namespace tileflux;
using namespace tileflux::results;

/// The netCDF library keeps memory of files that it refuses.
extern "C" const char* __asan_default_options() { return "detect_leaks=0"; }

namespace {

constexpr long long most_rows = 50, most_values = 100'000;

void require(bool holds) {
  if (!holds) std::abort();
}

void check(const SeriesTable& table) {
  const std::size_t rows = table.times_s.size();
  require(rows > 0 && table.temperatures_K.size() == rows * table.parts.size());
  for (std::size_t i = 1; i < rows; ++i) require(table.times_s[i - 1] < table.times_s[i]);
  for (const SeriesTable::Scalar& scalar : table.scalars) require(scalar.values.size() == rows);
}

void check(const AnswersTable& table) {
  require(table.rows > 0 && table.rows <= most_values && table.without_answer + table.not_solved <= table.rows);
  long long combinations = 1;
  for (const AnswersTable::Varied& varied : table.varied) combinations *= static_cast<long long>(varied.values.size());
  if (table.grid) require(combinations == table.rows);
  for (const AnswersTable::Answer& answer : table.answers)
    require(static_cast<long long>(answer.values.size()) == table.rows);
}

template <class Read>
void read(const Read& read_and_check) {
  try {
    read_and_check();
  } catch (const Error& error) {
    require(!error.diagnostics().empty() && error.code() != Code::internal);
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  if (!bytes.starts_with("CDF")) return -1;
  static const std::filesystem::path file = fuzz::folder("series") / "any.nc";
  fuzz::write(file, bytes);
  read([] { check(read_series(file, most_rows)); });
  read([] { check(read_answers(file, most_values)); });
  return 0;
}
