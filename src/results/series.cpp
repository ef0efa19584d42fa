#include "tileflux/results/series.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <utility>

#include "results/netcdf_series.h"
#include "results/text_file.h"
#include "tileflux/base/errors.h"
#include "tileflux/results/csv.h"

namespace tileflux::results {

namespace {

bool is_variable_name(std::string_view name) {
  const auto is_letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); };
  return !name.empty() && is_letter(name.front()) && std::all_of(name.begin(), name.end(), [&](char c) {
    return is_letter(c) || (c >= '0' && c <= '9') || c == '_';
  });
}

void check_layout(const SeriesLayout& layout, const SeriesOptions& options) {
  constexpr int most_rows = 65536;
  if (options.rows_per_block < 1 || options.rows_per_block > most_rows) {
    throw Error(Code::internal,
                fmt::format("a block of a series has 1 to {} rows, not {}", most_rows, options.rows_per_block));
  }
  if (layout.parts.empty()) throw Error(Code::internal, "a series needs at least one part");
  std::set<std::string> taken = {"time", "temperature", "part", "part_name", "part_name_length"};
  for (const ScalarVariable& scalar : layout.scalars) {
    if (!is_variable_name(scalar.name)) {
      throw Error(Code::internal, fmt::format("'{}' cannot be the name of a variable in a series", scalar.name));
    }
    if (!taken.insert(scalar.name).second) {
      throw Error(Code::internal, fmt::format("a series has two variables named '{}'", scalar.name));
    }
  }
}

std::string csv_head(const SeriesLayout& layout) {
  std::string names = "time", units = "s";
  for (const std::string& part : layout.parts) {
    names += ',' + csv_text("temperature." + part);
    units += ",K";
  }
  for (const ScalarVariable& scalar : layout.scalars) {
    names += ',' + csv_text(scalar.name);
    units += ',' + csv_text(scalar.unit);
  }
  return names + '\n' + units + '\n';
}

}  // namespace

class SeriesWriter::Files {
 public:
  Files(const OutputDirectory& directory, const SeriesLayout& layout, const SeriesOptions& options)
      : parts_(layout.parts.size()),
        rows_per_block_(static_cast<std::size_t>(options.rows_per_block)),
        scalars_(layout.scalars.size()),
        csv_(directory.fresh_file(layout.stem + ".csv")),
        netcdf_(directory.fresh_file(layout.stem + ".nc"), layout, rows_per_block_) {
    csv_.append(csv_head(layout));
    csv_.flush();
  }

  void append(double time_s, std::span<const double> temperatures_K, std::span<const double> scalars) {
    if (closed_) throw Error(Code::internal, "a row behind the end of a series");
    if (temperatures_K.size() != parts_ || scalars.size() != scalars_.size()) {
      throw Error(Code::internal,
                  fmt::format("a row of {} temperatures and {} scalars does not fit a series of {} and {}",
                              temperatures_K.size(), scalars.size(), parts_, scalars_.size()));
    }
    if (!std::isfinite(time_s) || time_s < last_given_time_s_) {
      throw Error(Code::internal, fmt::format("time {} s behind {} s in a series", time_s, last_given_time_s_));
    }
    last_given_time_s_ = time_s;
    if (time_s <= last_time_s_) time_s = std::nextafter(last_time_s_, std::numeric_limits<double>::infinity());
    last_time_s_ = time_s;

    times_s_.push_back(time_s);
    temperatures_K_.insert(temperatures_K_.end(), temperatures_K.begin(), temperatures_K.end());
    for (std::size_t i = 0; i < scalars.size(); ++i) scalars_[i].push_back(scalars[i]);
    append_csv(time_s, temperatures_K, scalars);
    ++rows_;
    if (times_s_.size() >= rows_per_block_) sync();
  }

  void sync() {
    if (times_s_.empty()) return;
    try {
      csv_.flush();
      netcdf_.write_block(times_s_, temperatures_K_, scalars_);
    } catch (...) {
      closed_ = true;  // a block half written cannot be written again
      throw;
    }
    times_s_.clear();
    temperatures_K_.clear();
    for (std::vector<double>& values : scalars_) values.clear();
  }

  void close() {
    if (closed_) return;
    sync();
    closed_ = true;
    csv_.close_durably();
    netcdf_.close();
  }

  long long rows() const { return rows_; }

 private:
  void append_csv(double time_s, std::span<const double> temperatures_K, std::span<const double> scalars) {
    std::string row = csv_number(time_s);
    for (const double temperature_K : temperatures_K) row += ',' + csv_number(temperature_K);
    for (const double value : scalars) row += ',' + csv_number(value);
    csv_.append(row + '\n');
  }

  std::size_t parts_;
  std::size_t rows_per_block_;
  std::vector<double> times_s_;
  std::vector<double> temperatures_K_;
  std::vector<std::vector<double>> scalars_;
  double last_given_time_s_ = -std::numeric_limits<double>::infinity();
  double last_time_s_ = -std::numeric_limits<double>::infinity();
  long long rows_ = 0;
  bool closed_ = false;
  TextFile csv_;
  NetcdfSeries netcdf_;
};

SeriesWriter::SeriesWriter(const OutputDirectory& directory, SeriesLayout layout, SeriesOptions options) {
  check_layout(layout, options);
  files_ = std::make_unique<Files>(directory, layout, options);
}

SeriesWriter::SeriesWriter(SeriesWriter&&) noexcept = default;

SeriesWriter& SeriesWriter::operator=(SeriesWriter&& other) noexcept {
  std::swap(files_, other.files_);  // the destructor of `other` closes what was here
  return *this;
}

SeriesWriter::~SeriesWriter() {
  if (!files_) return;
  try {
    files_->close();
  } catch (...) {  // nowhere to say it: close() is there for that
  }
}

void SeriesWriter::append(double time_s, std::span<const double> temperatures_K, std::span<const double> scalars) {
  files_->append(time_s, temperatures_K, scalars);
}

void SeriesWriter::sync() { files_->sync(); }

void SeriesWriter::close() { files_->close(); }

long long SeriesWriter::rows() const { return files_->rows(); }

}  // namespace tileflux::results
