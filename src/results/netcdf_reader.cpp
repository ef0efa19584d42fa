#include "results/netcdf_reader.h"

#include <netcdf.h>

#include <functional>
#include <limits>
#include <numeric>
#include <system_error>

#include "results/netcdf_head.h"
#include "results/netcdf_library.h"
#include "tileflux/base/errors.h"

namespace tileflux::results {

namespace {

constexpr std::size_t longest_attribute = 1u << 20;

[[noreturn]] void refuse_reading(Code code, const std::filesystem::path& path, const std::string& message) {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.place.file = path.string();
  diagnostic.message = message;
  throw Error(std::move(diagnostic));
}

}  // namespace

NetcdfReader::NetcdfReader(const std::filesystem::path& path) : lock_(netcdf_mutex()), path_(path) {
  std::error_code trouble;
  if (!std::filesystem::is_regular_file(path, trouble))
    refuse_reading(Code::file_unreadable, path, "there is no such file, or it is not a regular one");
  if (is_classic_netcdf(path) && !classic_head_fits(path))
    refuse_reading(Code::result_damaged, path, "its head tells of more than the file holds");
  // Never a URL: the library would fetch it.
  const int status = nc_open(std::filesystem::absolute(path).c_str(), NC_NOWRITE, &file_);
  if (status > 0) refuse_reading(Code::file_unreadable, path, std::generic_category().message(status));
  require(status, "it is no complete netCDF file");
  try {
    require(nc_inq_nvars(file_, &variables_), "its variables cannot be counted");
  } catch (...) {
    nc_close(file_);
    throw;
  }
}

NetcdfReader::~NetcdfReader() { nc_close(file_); }

void NetcdfReader::damaged(const std::string& what) const { refuse_reading(Code::result_damaged, path_, what); }

void NetcdfReader::require(int status, const std::string& what) const {
  if (status != NC_NOERR) damaged(what + " (" + nc_strerror(status) + ")");
}

std::vector<std::size_t> NetcdfReader::shape(int variable) const {
  int count = 0;
  require(nc_inq_varndims(file_, variable, &count), "a variable has no shape");
  std::vector<int> dimensions(static_cast<std::size_t>(count));
  require(nc_inq_vardimid(file_, variable, dimensions.data()), "a variable has no shape");
  std::vector<std::size_t> sizes(dimensions.size());
  for (std::size_t i = 0; i < sizes.size(); ++i)
    require(nc_inq_dimlen(file_, dimensions[i], &sizes[i]), "a dimension has no size");
  return sizes;
}

std::vector<std::string> NetcdfReader::dimension_names(int variable) const {
  int count = 0;
  require(nc_inq_varndims(file_, variable, &count), "a variable has no shape");
  std::vector<int> dimensions(static_cast<std::size_t>(count));
  require(nc_inq_vardimid(file_, variable, dimensions.data()), "a variable has no shape");
  std::vector<std::string> names;
  for (const int dimension : dimensions) {
    char name[NC_MAX_NAME + 1] = {};
    require(nc_inq_dimname(file_, dimension, name), "a dimension has no name");
    names.emplace_back(name);
  }
  return names;
}

std::string NetcdfReader::name(int variable) const {
  char name[NC_MAX_NAME + 1] = {};
  require(nc_inq_varname(file_, variable, name), "a variable has no name");
  return name;
}

bool NetcdfReader::has(const std::string& name) const {
  int id = -1;
  return nc_inq_varid(file_, name.c_str(), &id) == NC_NOERR;
}

int NetcdfReader::variable(const std::string& name) const {
  int id = -1;
  require(nc_inq_varid(file_, name.c_str(), &id), "it has no variable '" + name + "'");
  return id;
}

bool NetcdfReader::is_number(int variable) const {
  nc_type type = NC_NAT;
  require(nc_inq_vartype(file_, variable, &type), "a variable has no type");
  return type == NC_DOUBLE || type == NC_FLOAT || type == NC_INT;
}

std::string NetcdfReader::text(int variable, const char* attribute) const {
  nc_type type = NC_NAT;
  std::size_t size = 0;
  if (nc_inq_att(file_, variable, attribute, &type, &size) != NC_NOERR) return "";
  if (type != NC_CHAR) damaged(std::string("the attribute '") + attribute + "' is no text");
  if (size > longest_attribute)
    refuse_reading(Code::text_too_large, path_, std::string("the attribute '") + attribute + "' is longer than 1 MiB");
  std::string words(size, '\0');
  require(nc_get_att_text(file_, variable, attribute, words.data()), "an attribute cannot be read");
  return words;
}

std::string NetcdfReader::title() const { return text(NC_GLOBAL, "title"); }

std::vector<double> NetcdfReader::numbers(int variable, std::size_t first, std::size_t count) const {
  if (!is_number(variable)) damaged("the variable '" + name(variable) + "' holds no numbers");
  std::vector<std::size_t> counts = shape(variable), starts(counts.size(), 0);
  if (counts.empty()) damaged("the variable '" + name(variable) + "' has no dimension");
  starts[0] = first;
  counts[0] = count;
  std::vector<double> values(std::accumulate(counts.begin(), counts.end(), std::size_t{1}, std::multiplies<>()));
  if (!values.empty())
    require(nc_get_vara_double(file_, variable, starts.data(), counts.data(), values.data()),
            "the values of '" + name(variable) + "' cannot be read");
  return values;
}

std::vector<double> NetcdfReader::all_numbers(int variable) const {
  const std::vector<std::size_t> sizes = shape(variable);
  return numbers(variable, 0, sizes.empty() ? 0 : sizes[0]);
}

std::string NetcdfReader::all_letters(int variable) const {
  nc_type type = NC_NAT;
  require(nc_inq_vartype(file_, variable, &type), "a variable has no type");
  if (type != NC_CHAR) damaged("the variable '" + name(variable) + "' is no text");
  const std::vector<std::size_t> sizes = shape(variable);
  std::string letters(std::accumulate(sizes.begin(), sizes.end(), std::size_t{1}, std::multiplies<>()), '\0');
  if (!letters.empty()) require(nc_get_var_text(file_, variable, letters.data()), "its names cannot be read");
  return letters;
}

}  // namespace tileflux::results
