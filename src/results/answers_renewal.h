#pragma once
/// What is kept of answers whose writer was killed, or whose files were damaged since.

#include <filesystem>
#include <span>
#include <string>

#include "tileflux/results/answers_file.h"

namespace tileflux::results {

/// Names and units, as the CSV file begins.
std::string csv_head(const AnswersLayout& layout);

/// The cells of a row but for the last, which says why there is no answer.
std::string csv_cells(std::span<const double> inputs, std::span<const double> answers);

/// Writes the netCDF file anew from the rows that it and the CSV file tell alike, up to the first that they do not, and
/// gives their number: what one file alone holds is not believed. Readers see the old file or the new one. Throws Error:
/// result_damaged where either is not of this layout at all, so that nothing can be told; output_unwritable.
long long renew_answers(const std::filesystem::path& netcdf, const std::filesystem::path& csv,
                        const std::filesystem::path& temporary, const AnswersLayout& layout);

}  // namespace tileflux::results
