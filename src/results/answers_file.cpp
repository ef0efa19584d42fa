#include "tileflux/results/answers_file.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <fstream>
#include <nlohmann/json.hpp>
#include <optional>
#include <sstream>
#include <utility>

#include "results/answers_renewal.h"
#include "results/netcdf_answers.h"
#include "results/text_file.h"
#include "tileflux/base/errors.h"
#include "tileflux/results/csv.h"

namespace tileflux::results {

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

constexpr const char* identity_name = "design.json";
constexpr const char* csv_name = "answers.csv";
constexpr const char* netcdf_name = "answers.nc";
/// Names and units.
constexpr long long head_lines = 2;

std::string content_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

/// The first key in which two identities differ.
std::string difference(const std::string& there, std::string_view wanted) {
  const Json a = Json::parse(there, nullptr, false), b = Json::parse(wanted, nullptr, false);
  if (!a.is_object() || !b.is_object()) return "what was asked";
  for (const auto& [key, value] : b.items()) {
    if (!a.contains(key) || a[key] != value) return '`' + key + '`';
  }
  return "what was asked";
}

/// Holds the directory against other processes as long as it lives.
class Hold {
 public:
  explicit Hold(const fs::path& directory) {
    descriptor_ = ::open(directory.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (descriptor_ < 0) refuse_errno("open directory", directory, errno);
    if (::flock(descriptor_, LOCK_EX | LOCK_NB) == 0 || errno != EWOULDBLOCK) return;
    ::close(descriptor_);
    throw Error(Code::option_wrong, "another sweep is being written into " + directory.string());
  }
  Hold(const Hold&) = delete;
  Hold& operator=(const Hold&) = delete;
  ~Hold() { ::close(descriptor_); }

 private:
  int descriptor_ = -1;
};

/// Behind so many lines; none if there are not so many.
std::optional<off_t> end_of_lines(const fs::path& path, long long lines) {
  std::ifstream file(path, std::ios::binary);
  off_t offset = 0;
  std::vector<char> block(1 << 20);
  while (lines > 0 && file) {
    file.read(block.data(), static_cast<std::streamsize>(block.size()));
    const auto end = block.begin() + file.gcount();
    for (auto at = block.begin(); at != end; offset += 1) {
      if (*at++ == '\n' && --lines == 0) return offset + 1;
    }
  }
  return lines == 0 ? std::optional<off_t>(offset) : std::nullopt;
}

long long lines_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  long long lines = 0;
  std::vector<char> block(1 << 20);
  while (file) {
    file.read(block.data(), static_cast<std::streamsize>(block.size()));
    lines += std::count(block.begin(), block.begin() + file.gcount(), '\n');
  }
  return lines;
}

}  // namespace

class AnswersWriter::Files {
 public:
  Files(const OutputDirectory& directory, AnswersLayout layout, std::string_view identity)
      : hold_(directory.path()), layout_(std::move(layout)) {
    const fs::path identity_path = directory.file(identity_name), csv = directory.file(csv_name),
                   netcdf = directory.file(netcdf_name);
    const bool known = fs::exists(identity_path);
    if (known) {
      const std::string there = content_of(identity_path);
      if (there != identity)
        throw Error(Code::option_wrong, directory.path().string() + " holds another sweep: " +
                                            difference(there, identity) + " differs; give another directory");
    }
    const long long lines = known && fs::exists(csv) && fs::exists(netcdf) ? lines_of(csv) : 0;
    const fs::path part = directory.path() / ".answers.nc.part";
    long long rows = 0;
    if (lines > head_lines) {
      rows = renew_answers(netcdf, csv, part, layout_);
    } else {
      // In this order: where the CSV file stands, everything else does.
      directory.fresh_file(csv_name);
      directory.fresh_file(netcdf_name);
      directory.write_text(identity_name, identity);
      NetcdfAnswers::create(netcdf, part, layout_);
      directory.write_text(csv_name, csv_head(layout_));
    }
    netcdf_.emplace(netcdf, layout_);
    csv_path_ = csv;
    open_csv(rows);
    inputs_.resize(layout_.varied.size());
    answers_.resize(layout_.answers.size());
  }

  void open_csv(long long rows) {
    const std::optional<off_t> end = end_of_lines(csv_path_, head_lines + rows);
    if (!end) throw Error(Code::internal, csv_path_.string() + " is shorter than it was");
    csv_.emplace(csv_path_, *end);
    rows_ = rows;
  }

  void append(const AnswersRow& row) {
    for (std::size_t i = 0; i < row.inputs.size(); ++i) inputs_[i].push_back(row.inputs[i]);
    for (std::size_t i = 0; i < row.answers.size(); ++i) answers_[i].push_back(row.answers[i]);
    troubles_.push_back(row.trouble);
    std::string words(row.trouble_text);
    std::replace_if(
        words.begin(), words.end(), [](char letter) { return letter == '\n' || letter == '\r'; }, ' ');
    csv_->append(csv_cells(row.inputs, row.answers) + csv_text(words) + '\n');
  }

  void flush() {
    if (troubles_.empty()) return;
    netcdf_->put(rows_, inputs_, answers_, troubles_);
    csv_->flush();
    rows_ += static_cast<long long>(troubles_.size());
    for (std::vector<double>& column : inputs_) column.clear();
    for (std::vector<double>& column : answers_) column.clear();
    troubles_.clear();
  }

  void close() {
    if (!csv_) return;
    flush();
    netcdf_->close();
    csv_->close();
  }

  long long rows() const { return rows_ + static_cast<long long>(troubles_.size()); }
  const NetcdfAnswers& netcdf() const { return *netcdf_; }

 private:
  Hold hold_;
  AnswersLayout layout_;
  std::optional<NetcdfAnswers> netcdf_;
  fs::path csv_path_;
  std::optional<TextFile> csv_;
  long long rows_ = 0;  ///< on disk
  std::vector<std::vector<double>> inputs_, answers_;
  std::vector<int> troubles_;
};

AnswersWriter::AnswersWriter(const OutputDirectory& directory, AnswersLayout layout, std::string_view identity)
    : files_(std::make_unique<Files>(directory, std::move(layout), identity)) {}
AnswersWriter::AnswersWriter(AnswersWriter&&) noexcept = default;
AnswersWriter& AnswersWriter::operator=(AnswersWriter&&) noexcept = default;
AnswersWriter::~AnswersWriter() = default;

long long AnswersWriter::rows() const { return files_->rows(); }
void AnswersWriter::keep(long long rows) { files_->open_csv(rows); }
void AnswersWriter::append(const AnswersRow& row) { files_->append(row); }
void AnswersWriter::flush() { files_->flush(); }
void AnswersWriter::close() { files_->close(); }
std::vector<double> AnswersWriter::read(std::size_t answer) const { return files_->netcdf().read(answer); }
std::vector<int> AnswersWriter::read_troubles() const { return files_->netcdf().read_troubles(); }

}  // namespace tileflux::results
