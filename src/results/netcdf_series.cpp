#include "results/netcdf_series.h"

#include <netcdf.h>

#include <algorithm>
#include <cerrno>
#include <limits>
#include <mutex>
#include <string>
#include <system_error>
#include <utility>

#include "results/netcdf_library.h"
#include "results/room.h"
#include "results/text_file.h"

namespace tileflux::results {

namespace {

/// A chunk of `temperature` stays below this, so that wide models do not blow up the library's cache.
constexpr std::size_t chunk_bytes = std::size_t{1} << 20;

/// What the library may need for its own tables when a block is added: for the file, and for each variable. Measured
/// growth stays below a third of this.
constexpr std::size_t table_bytes = std::size_t{1} << 17;
constexpr std::size_t table_bytes_per_variable = std::size_t{1} << 14;

/// The library's own words, and the operating system's where a call of its left them ("HDF error" alone helps nobody).
std::string reason_of(int status, int error_number) {
  if (status > 0) return std::generic_category().message(status);
  std::string reason = nc_strerror(status);
  if (error_number != 0) reason = std::generic_category().message(error_number) + " (" + reason + ')';
  return reason;
}

std::size_t longest_name(std::span<const std::string> names) {
  std::size_t longest = 1;
  for (const std::string& name : names) longest = std::max(longest, name.size());
  return longest;
}

}  // namespace

NetcdfSeries::NetcdfSeries(std::filesystem::path path, const SeriesLayout& layout, std::size_t rows_per_chunk)
    : path_(std::move(path)), parts_(layout.parts.size()), rows_per_chunk_(rows_per_chunk) {
  const std::lock_guard lock(netcdf_mutex());
  make_sure_of_room(layout.scalars.size());
  errno = 0;
  require(nc_create(path_.c_str(), NC_NETCDF4 | NC_CLASSIC_MODEL | NC_NOCLOBBER, &file_), "create");
  try {
    define(layout, rows_per_chunk);
  } catch (...) {
    abandon();
    std::error_code ignored;
    std::filesystem::remove(path_, ignored);  // half a head is of no use
    throw;
  }
}

void NetcdfSeries::make_sure_of_room(std::size_t scalars) const {
  std::error_code ignored;
  try {
    TextFile(path_).close();
    secure_room(path_, growth_of(1, scalars));
  } catch (...) {
    std::filesystem::remove(path_, ignored);
    throw;
  }
  std::filesystem::remove(path_, ignored);
}

NetcdfSeries::~NetcdfSeries() {
  const std::lock_guard lock(netcdf_mutex());
  abandon();
}

void NetcdfSeries::define(const SeriesLayout& layout, std::size_t rows_per_chunk) {
  const std::size_t name_length = longest_name(layout.parts);
  int time = -1, part = -1, letters = -1, names = -1;
  require(nc_def_dim(file_, "time", NC_UNLIMITED, &time), "define");
  require(nc_def_dim(file_, "part", parts_, &part), "define");
  require(nc_def_dim(file_, "part_name_length", name_length, &letters), "define");

  require(nc_def_var(file_, "time", NC_DOUBLE, 1, &time, &time_variable_), "define");
  require(nc_def_var_chunking(file_, time_variable_, NC_CHUNKED, &rows_per_chunk), "define");
  text_attribute(time_variable_, "units", "s");
  text_attribute(time_variable_, "long_name", "time since the start of the run");

  const int name_dimensions[] = {part, letters};
  require(nc_def_var(file_, "part_name", NC_CHAR, 2, name_dimensions, &names), "define");
  text_attribute(names, "long_name", "name of each part");
  text_attribute(names, "_Encoding", "utf-8");

  const int temperature_dimensions[] = {time, part};
  const std::size_t rows_that_fit = std::max<std::size_t>(1, chunk_bytes / (parts_ * sizeof(double)));
  const std::size_t chunk[] = {std::min(rows_per_chunk, rows_that_fit), parts_};
  const double missing = std::numeric_limits<double>::quiet_NaN();
  require(nc_def_var(file_, "temperature", NC_DOUBLE, 2, temperature_dimensions, &temperature_variable_), "define");
  require(nc_def_var_chunking(file_, temperature_variable_, NC_CHUNKED, chunk), "define");
  require(nc_def_var_fill(file_, temperature_variable_, NC_FILL, &missing), "define");
  text_attribute(temperature_variable_, "units", "K");
  text_attribute(temperature_variable_, "long_name", "temperature of each part");
  text_attribute(temperature_variable_, "coordinates", "part_name");
  text_attribute(temperature_variable_, "cell_methods", "time: point");

  for (const ScalarVariable& scalar : layout.scalars) {
    scalar_variables_.push_back(define_scalar(scalar, time, rows_per_chunk));
  }

  text_attribute(NC_GLOBAL, "Conventions", "CF-1.8");
  text_attribute(NC_GLOBAL, "title", layout.title);
  text_attribute(NC_GLOBAL, "source", "tileflux " TILEFLUX_VERSION);
  require(nc_enddef(file_), "define");
  write_names(names, layout.parts, name_length);
  require(nc_sync(file_), "write");
}

int NetcdfSeries::define_scalar(const ScalarVariable& scalar, int time_dimension, std::size_t rows_per_chunk) {
  const double missing = std::numeric_limits<double>::quiet_NaN();
  int variable = -1;
  require(nc_def_var(file_, scalar.name.c_str(), NC_DOUBLE, 1, &time_dimension, &variable), "define");
  require(nc_def_var_chunking(file_, variable, NC_CHUNKED, &rows_per_chunk), "define");
  require(nc_def_var_fill(file_, variable, NC_FILL, &missing), "define");
  text_attribute(variable, "units", scalar.unit);
  text_attribute(variable, "long_name", scalar.long_name);
  text_attribute(variable, "cell_methods", "time: point");
  return variable;
}

void NetcdfSeries::write_names(int variable, std::span<const std::string> names, std::size_t longest) {
  std::string table(names.size() * longest, '\0');
  for (std::size_t i = 0; i < names.size(); ++i) {
    std::copy(names[i].begin(), names[i].end(), table.begin() + static_cast<std::ptrdiff_t>(i * longest));
  }
  require(nc_put_var_text(file_, variable, table.data()), "write");
}

void NetcdfSeries::text_attribute(int variable, const char* name, std::string_view text) {
  require(nc_put_att_text(file_, variable, name, text.size(), text.data()), "define");
}

void NetcdfSeries::write_block(std::span<const double> times_s, std::span<const double> temperatures_K,
                               std::span<const std::vector<double>> scalars) {
  if (times_s.empty()) return;
  const std::lock_guard lock(netcdf_mutex());
  secure_room(path_, growth_of(times_s.size(), scalar_variables_.size()));
  errno = 0;
  const std::size_t first[] = {rows_, 0};
  const std::size_t count[] = {times_s.size(), parts_};
  require(nc_put_vara_double(file_, time_variable_, first, count, times_s.data()), "write");
  require(nc_put_vara_double(file_, temperature_variable_, first, count, temperatures_K.data()), "write");
  for (std::size_t i = 0; i < scalar_variables_.size(); ++i) {
    require(nc_put_vara_double(file_, scalar_variables_[i], first, count, scalars[i].data()), "write");
  }
  require(nc_sync(file_), "write");
  rows_ += times_s.size();
}

std::size_t NetcdfSeries::growth_of(std::size_t rows, std::size_t scalars) const {
  const std::size_t chunks = rows / rows_per_chunk_ + 2;  // a block may begin and end inside a chunk
  const std::size_t row_bytes = (1 + parts_ + scalars) * sizeof(double);
  return chunks * rows_per_chunk_ * row_bytes + table_bytes + (2 + scalars) * table_bytes_per_variable;
}

void NetcdfSeries::close() {
  const std::lock_guard lock(netcdf_mutex());
  if (file_ < 0) return;
  errno = 0;
  require(nc_close(std::exchange(file_, -1)), "close");
  release_room(path_);
}

void NetcdfSeries::require(int status, std::string_view action) {
  if (status != NC_NOERR) refuse(action, path_, reason_of(status, errno));
}

void NetcdfSeries::abandon() noexcept {
  if (file_ >= 0) nc_close(std::exchange(file_, -1));
}

}  // namespace tileflux::results
