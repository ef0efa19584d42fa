#include "results/netcdf_answers.h"

#include <netcdf.h>

#include <algorithm>
#include <functional>
#include <limits>
#include <numeric>
#include <string>
#include <system_error>
#include <utility>

#include "results/netcdf_head.h"
#include "results/netcdf_library.h"
#include "results/text_file.h"

namespace tileflux::results {

namespace {

std::string reason_of(int status) {
  return status > 0 ? std::generic_category().message(status) : std::string(nc_strerror(status));
}

std::vector<std::size_t> shape_of(const AnswersLayout& layout) {
  if (!layout.grid) return {static_cast<std::size_t>(layout.rows)};
  std::vector<std::size_t> shape;
  for (const VariedVariable& varied : layout.varied) shape.push_back(varied.values.size());
  return shape;
}

/// The head of a new file.
class Head {
 public:
  Head(const std::filesystem::path& path, const AnswersLayout& layout) : path_(path), layout_(layout) {
    require(nc_create(path.c_str(), NC_CLOBBER | NC_64BIT_OFFSET, &file_), "create");
  }
  ~Head() {
    if (file_ >= 0) nc_close(file_);
  }

  void write() {
    const std::vector<std::size_t> shape = shape_of(layout_);
    std::vector<int> dimensions;
    for (std::size_t i = 0; i < shape.size(); ++i) {
      const char* name = layout_.grid ? layout_.varied[i].name.c_str() : "sample";
      require(nc_def_dim(file_, name, shape[i], &dimensions.emplace_back()), "define");
    }
    std::vector<int> inputs;
    for (std::size_t i = 0; i < layout_.varied.size(); ++i) {
      const VariedVariable& varied = layout_.varied[i];
      const int* own = layout_.grid ? &dimensions[i] : dimensions.data();
      inputs.push_back(number(varied.name, varied.unit, varied.long_name, own, 1));
    }
    for (const AnswerVariable& answer : layout_.answers) {
      const int id = number(answer.name, answer.unit, answer.long_name, dimensions.data(), shape.size());
      std::vector<double> codes(answer.flags.size());
      std::iota(codes.begin(), codes.end(), 0.0);
      if (codes.empty()) continue;
      require(nc_put_att_double(file_, id, "flag_values", NC_DOUBLE, codes.size(), codes.data()), "define");
      text(id, "flag_meanings", meanings(answer.flags));
    }
    trouble(dimensions);
    text(NC_GLOBAL, "Conventions", "CF-1.8");
    text(NC_GLOBAL, "title", layout_.title);
    text(NC_GLOBAL, "source", "tileflux " TILEFLUX_VERSION);
    require(nc_enddef(file_), "write");
    for (std::size_t i = 0; layout_.grid && i < inputs.size(); ++i)
      require(nc_put_var_double(file_, inputs[i], layout_.varied[i].values.data()), "write");
    require(nc_close(std::exchange(file_, -1)), "write");
  }

 private:
  int number(const std::string& name, const std::string& unit, const std::string& long_name, const int* dimensions,
             std::size_t count) {
    const double missing = std::numeric_limits<double>::quiet_NaN();
    int id = -1;
    require(nc_def_var(file_, name.c_str(), NC_DOUBLE, static_cast<int>(count), dimensions, &id), "define");
    require(nc_put_att_double(file_, id, "_FillValue", NC_DOUBLE, 1, &missing), "define");
    text(id, "units", unit);
    text(id, "long_name", long_name);
    return id;
  }
  void trouble(const std::vector<int>& dimensions) {
    constexpr int not_yet = -1;
    int id = -1;
    require(nc_def_var(file_, "trouble", NC_INT, static_cast<int>(dimensions.size()), dimensions.data(), &id),
            "define");
    require(nc_put_att_int(file_, id, "_FillValue", NC_INT, 1, &not_yet), "define");
    text(id, "long_name", "why there is no answer");
    std::vector<int> codes(layout_.troubles.size() + 1);
    std::iota(codes.begin(), codes.end(), 0);
    require(nc_put_att_int(file_, id, "flag_values", NC_INT, codes.size(), codes.data()), "define");
    text(id, "flag_meanings", "none " + meanings(layout_.troubles));
  }
  static std::string meanings(const std::vector<std::string>& words) {
    std::string all;
    for (std::string word : words) {
      std::replace(word.begin(), word.end(), ' ', '_');
      all += (all.empty() ? "" : " ") + word;
    }
    return all;
  }
  void text(int id, const char* name, const std::string& words) {
    require(nc_put_att_text(file_, id, name, words.size(), words.data()), "define");
  }
  void require(int status, std::string_view action) const {
    if (status != NC_NOERR) refuse(action, path_, reason_of(status));
  }

  const std::filesystem::path& path_;
  const AnswersLayout& layout_;
  int file_ = -1;
};

}  // namespace

void NetcdfAnswers::create(const std::filesystem::path& path, const std::filesystem::path& temporary,
                           const AnswersLayout& layout) {
  const std::lock_guard lock(netcdf_mutex());
  std::error_code failure;
  std::filesystem::remove(temporary, failure);
  try {
    Head(temporary, layout).write();
    std::filesystem::rename(temporary, path, failure);
    if (failure) refuse("write", path, failure.message());
  } catch (...) {
    std::filesystem::remove(temporary, failure);
    throw;
  }
}

NetcdfAnswers::NetcdfAnswers(std::filesystem::path path, const AnswersLayout& layout)
    : path_(std::move(path)), shape_(shape_of(layout)) {
  if (std::filesystem::is_regular_file(path_) && !classic_head_fits(path_))
    refuse_damaged(path_, "it has no head of a netCDF file that fits into it");
  const std::lock_guard lock(netcdf_mutex());
  require(nc_open(path_.c_str(), NC_WRITE, &file_), "open");
  const auto find = [&](const std::string& name) {
    int id = -1;
    require(nc_inq_varid(file_, name.c_str(), &id), "open");
    return id;
  };
  try {
    for (const VariedVariable& varied : layout.varied) inputs_.push_back(find(varied.name));
    for (const AnswerVariable& answer : layout.answers) answers_.push_back(find(answer.name));
    troubles_ = find("trouble");
  } catch (...) {
    nc_close(std::exchange(file_, -1));
    throw;
  }
  if (layout.grid) inputs_.clear();  // its coordinates are there already
}

NetcdfAnswers::~NetcdfAnswers() {
  const std::lock_guard lock(netcdf_mutex());
  if (file_ >= 0) nc_close(std::exchange(file_, -1));
}

std::vector<NetcdfAnswers::Slab> NetcdfAnswers::slabs(std::size_t first, std::size_t rows) const {
  std::vector<Slab> slabs;
  for (std::size_t done = 0; done < rows;) {
    const std::size_t at = first + done;
    // The outermost dimension along which whole blocks begin here.
    std::size_t level = shape_.size() - 1, stride = 1;
    while (level > 0 && at % (stride * shape_[level]) == 0 && rows - done >= stride * shape_[level])
      stride *= shape_[level--];
    Slab slab{std::vector<std::size_t>(shape_.size(), 0), std::vector<std::size_t>(shape_.size(), 1), done, 0};
    std::size_t rest = at;
    for (std::size_t d = shape_.size(); d-- > 0;) {
      slab.start[d] = rest % shape_[d];
      rest /= shape_[d];
      if (d > level) slab.count[d] = shape_[d];
    }
    slab.count[level] = std::min((rows - done) / stride, shape_[level] - slab.start[level]);
    slab.rows = slab.count[level] * stride;
    done += slab.rows;
    slabs.push_back(std::move(slab));
  }
  return slabs;
}

void NetcdfAnswers::put(long long first, const std::vector<std::vector<double>>& inputs,
                        const std::vector<std::vector<double>>& answers, std::span<const int> troubles) {
  const std::lock_guard lock(netcdf_mutex());
  for (const Slab& slab : slabs(static_cast<std::size_t>(first), troubles.size())) {
    const auto put_all = [&](const std::vector<int>& ids, const std::vector<std::vector<double>>& columns) {
      for (std::size_t i = 0; i < ids.size(); ++i) {
        require(nc_put_vara_double(file_, ids[i], slab.start.data(), slab.count.data(), &columns[i][slab.begin]),
                "write");
      }
    };
    put_all(inputs_, inputs);
    put_all(answers_, answers);
    require(nc_put_vara_int(file_, troubles_, slab.start.data(), slab.count.data(), &troubles[slab.begin]), "write");
  }
  require(nc_sync(file_), "write");
}

NetcdfAnswers::Rows NetcdfAnswers::get(long long first, std::size_t rows) const {
  const std::lock_guard lock(netcdf_mutex());
  Rows got{std::vector<std::vector<double>>(inputs_.size(), std::vector<double>(rows)),
           std::vector<std::vector<double>>(answers_.size(), std::vector<double>(rows)), std::vector<int>(rows)};
  for (const Slab& slab : slabs(static_cast<std::size_t>(first), rows)) {
    const auto get_all = [&](const std::vector<int>& ids, std::vector<std::vector<double>>& columns) {
      for (std::size_t i = 0; i < ids.size(); ++i) {
        require(nc_get_vara_double(file_, ids[i], slab.start.data(), slab.count.data(), &columns[i][slab.begin]),
                "read");
      }
    };
    get_all(inputs_, got.inputs);
    get_all(answers_, got.answers);
    require(nc_get_vara_int(file_, troubles_, slab.start.data(), slab.count.data(), &got.troubles[slab.begin]), "read");
  }
  return got;
}

void NetcdfAnswers::close() {
  const std::lock_guard lock(netcdf_mutex());
  if (file_ >= 0) require(nc_close(std::exchange(file_, -1)), "close");
}

std::vector<double> NetcdfAnswers::read(std::size_t answer) const {
  const std::lock_guard lock(netcdf_mutex());
  std::vector<double> values(std::accumulate(shape_.begin(), shape_.end(), std::size_t{1}, std::multiplies<>()));
  require(nc_get_var_double(file_, answers_[answer], values.data()), "read");
  return values;
}

std::vector<int> NetcdfAnswers::read_troubles() const {
  const std::lock_guard lock(netcdf_mutex());
  std::vector<int> values(std::accumulate(shape_.begin(), shape_.end(), std::size_t{1}, std::multiplies<>()));
  require(nc_get_var_int(file_, troubles_, values.data()), "read");
  return values;
}

void NetcdfAnswers::require(int status, std::string_view action) const {
  // What the system says is about the disk, what the library says about the file.
  if (status < 0 && (action == "open" || action == "read")) refuse_damaged(path_, reason_of(status));
  if (status != NC_NOERR) refuse(action, path_, reason_of(status));
}

}  // namespace tileflux::results
