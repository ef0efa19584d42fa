/// Rows solved on all cores and machines, written as they come.

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <bit>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <thread>

#include "cli/asked_sweep.h"
#include "cli/case_tables.h"
#include "cli/json.h"
#include "cli/json_parts.h"
#include "cli/print.h"
#include "cli/ranks.h"
#include "cli/verb_parts.h"
#include "cli/verbs.h"
#include "tileflux/results/answers_file.h"
#include "tileflux/results/digest.h"
#include "tileflux/tile/case_series.h"

namespace tileflux::cli {

namespace {

namespace fs = std::filesystem;

/// The case and every table beside it that it may name.
std::string digest_of_case(const std::string& case_file) {
  std::string all = content_of(case_file);
  for (const std::string& table : tables_named_in(content_of(case_file)))
    all += content_of(fs::path(case_file).parent_path() / table);
  return results::sha256_of(all);
}

std::string digest_of_materials(const std::string& directory) {
  std::vector<fs::path> files;
  std::error_code ignored;
  for (const fs::directory_entry& entry : fs::directory_iterator(directory, ignored)) {
    if (entry.path().extension() == ".yaml") files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  std::string all;
  for (const fs::path& file : files) all += file.filename().string() + '\n' + content_of(file);
  return results::sha256_of(all);
}

/// What makes a sweep this one and no other.
std::string identity_of(const Invocation& wanted, const AskedSweep& asked) {
  Json json{{"tileflux", TILEFLUX_VERSION},
            {"case", digest_of_case(wanted.case_file)},
            {"materials", digest_of_materials(wanted.materials_directory)},
            {"design", studies::name_of(asked.design.kind())},
            {"rows", asked.design.rows()}};
  if (asked.design.kind() == studies::Design::Kind::latin) json["seed"] = asked.seed;
  Json varied = Json::array();
  for (std::size_t i = 0; i < asked.inputs.size(); ++i) {
    const AskedInput& one = asked.inputs[i];
    Json input{{"path", one.varied.path}, {"unit", one.varied.type.dimension.si_unit}};
    if (asked.design.kind() == studies::Design::Kind::grid) {
      input["values"] = asked.design.values(i);
    } else {
      input["from"] = one.range.values_si.front();
      input["to"] = one.range.values_si.back();
      input["logarithmic"] = one.range.spacing == input::Spacing::logarithmic;
    }
    varied.push_back(std::move(input));
  }
  json["varied"] = std::move(varied);
  json["question"] = studies::name_of(asked.answers->question());
  Json outputs = Json::array();
  for (const studies::AnswerField& field : asked.answers->fields()) outputs.push_back(field.name);
  json["outputs"] = std::move(outputs);
  return text_of(json);
}

results::AnswersLayout layout_of(const tile::CaseTemplate& cases, const AskedSweep& asked) {
  results::AnswersLayout layout;
  layout.title = cases.as_written().description.title;
  layout.grid = asked.design.kind() == studies::Design::Kind::grid;
  layout.rows = asked.design.rows();
  for (std::size_t i = 0; i < asked.inputs.size(); ++i) {
    const input::QuantityAt& varied = asked.inputs[i].varied;
    layout.varied.push_back({varied.path, std::string(varied.type.dimension.si_unit), varied.path + " of the case",
                             layout.grid ? asked.design.values(i) : std::vector<double>()});
  }
  for (const studies::AnswerField& field : asked.answers->fields())
    layout.answers.push_back({field.name, field.unit, field.meaning, field.flags});
  for (const CodeEntry& entry : all_codes()) layout.troubles.emplace_back(entry.slug);
  return layout;
}

/// Rows done with rate and time left, on a terminal only.
class RowProgress {
 public:
  RowProgress(long long all, long long there) : all_(all), there_(there) {}
  ~RowProgress() {
    if (told_s_ > 0.0) fmt::print(stderr, "\r{:60}\r", "");
  }
  void operator()(long long rows) {
    if (!terminal_) return;
    const double now_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin_).count();
    if (now_s < 1.0 || now_s - told_s_ < 0.2) return;
    told_s_ = now_s;
    const double rate_per_s = static_cast<double>(rows - there_) / now_s;
    const std::string left =
        rate_per_s > 0.0 ? fmt::format("{:.0f} s left", static_cast<double>(all_ - rows) / rate_per_s) : "";
    fmt::print(stderr, "\r{:60}\r{} of {} rows, {:.4g} a second, {}", "", rows, all_, rate_per_s, left);
    std::fflush(stderr);
  }

 private:
  long long all_, there_;
  std::chrono::steady_clock::time_point begin_ = std::chrono::steady_clock::now();
  bool terminal_ = isatty(STDERR_FILENO) != 0;
  double told_s_ = 0.0;
};

/// A segment's answers as bytes, for another process of the same program.
template <class Value>
void put(std::string& bytes, const Value& value) {
  const auto raw = std::bit_cast<std::array<char, sizeof(Value)>>(value);
  bytes.append(raw.data(), raw.size());
}
template <class Value>
Value take(std::string_view& bytes) {
  std::array<char, sizeof(Value)> raw{};
  std::copy_n(bytes.data(), raw.size(), raw.data());
  bytes.remove_prefix(raw.size());
  return std::bit_cast<Value>(raw);
}

constexpr char rows_follow = 'r', error_follows = 'e';

std::string packed(const std::vector<studies::AnsweredRow>& rows) {
  std::string bytes(1, rows_follow);
  for (const studies::AnsweredRow& row : rows) {
    put(bytes, row.row);
    for (const double answer : row.answers) put(bytes, answer);
    const std::string text = row.trouble ? row.trouble->message : std::string();
    put(bytes, row.trouble ? static_cast<int>(row.trouble->code) : -1);
    put(bytes, text.size());
    bytes += text;
  }
  return bytes;
}

std::vector<studies::AnsweredRow> unpacked(std::string_view bytes, const AskedSweep& asked) {
  const char kind = take<char>(bytes);
  if (kind == error_follows) {
    const int code = take<int>(bytes);
    throw Error(static_cast<Code>(code), std::string(bytes));
  }
  std::vector<studies::AnsweredRow> rows;
  while (!bytes.empty()) {
    studies::AnsweredRow row;
    row.row = take<long long>(bytes);
    row.inputs = asked.design.row(row.row);
    for (std::size_t i = 0; i < asked.answers->fields().size(); ++i) row.answers.push_back(take<double>(bytes));
    const int code = take<int>(bytes);
    const auto size = take<std::size_t>(bytes);
    if (code >= 0) {
      row.trouble.emplace();
      row.trouble->code = static_cast<Code>(code);
      row.trouble->message = std::string(bytes.substr(0, size));
    }
    bytes.remove_prefix(size);
    rows.push_back(std::move(row));
  }
  return rows;
}

/// Rows kept as they come: in files, or in memory where there are none.
class Keeper {
 public:
  Keeper(const Invocation& wanted, const tile::CaseTemplate& cases, const AskedSweep& asked) : asked_(asked) {
    if (wanted.out_directory.empty()) {
      columns_.resize(asked.answers->fields().size());
      return;
    }
    writer_.emplace(results::OutputDirectory(wanted.out_directory), layout_of(cases, asked),
                    identity_of(wanted, asked));
    const long long begin =
        writer_->rows() < asked.design.rows() ? studies::segment_begin(asked.design, writer_->rows()) : writer_->rows();
    writer_->keep(begin);
    rows_ = begin;
    if (begin > 0) {
      const std::vector<int> codes = writer_->read_troubles();
      failed_ = std::count_if(codes.begin(), codes.begin() + begin, [](int code) { return code > 0; });
    }
  }

  long long rows() const { return rows_; }
  long long failed() const { return failed_; }
  const std::vector<std::string>& troubles() const { return troubles_; }

  void take(const std::vector<studies::AnsweredRow>& rows) {
    for (const studies::AnsweredRow& row : rows) keep(row);
    if (!writer_) return;
    constexpr long long rows_at_once = 256;
    constexpr std::chrono::milliseconds most_wait(500);
    const auto now = std::chrono::steady_clock::now();
    held_ += static_cast<long long>(rows.size());
    if (held_ < rows_at_once && now - flushed_ < most_wait) return;
    flush();
  }

  void flush() {
    if (writer_) writer_->flush();
    held_ = 0;
    flushed_ = std::chrono::steady_clock::now();
  }

  /// After flush().
  std::vector<double> answer(std::size_t place) const {
    std::vector<double> values = writer_ ? writer_->read(place) : columns_[place];
    values.resize(static_cast<std::size_t>(rows_));
    return values;
  }

  void close() {
    if (writer_) writer_->close();
  }

 private:
  void keep(const studies::AnsweredRow& row) {
    constexpr std::size_t most_told = 3;
    std::string text;
    if (row.trouble) {
      ++failed_;
      text = fmt::format("{}: {}", entry_of(row.trouble->code).slug, row.trouble->message);
      if (troubles_.size() < most_told) troubles_.push_back(text);
    }
    if (writer_)
      writer_->append({row.inputs, row.answers, row.trouble ? 1 + static_cast<int>(row.trouble->code) : 0, text});
    for (std::size_t i = 0; i < columns_.size(); ++i) columns_[i].push_back(row.answers[i]);
    ++rows_;
  }

  const AskedSweep& asked_;
  std::optional<results::AnswersWriter> writer_;
  std::vector<std::vector<double>> columns_;
  long long rows_ = 0, failed_ = 0, held_ = 0;
  std::vector<std::string> troubles_;
  std::chrono::steady_clock::time_point flushed_ = std::chrono::steady_clock::now();
};

studies::RowQuestion question_of(const tile::CaseTemplate& cases, const AskedSweep& asked) {
  studies::RowQuestion question;
  question.design = &asked.design;
  question.answers = &*asked.answers;
  question.make_cases = [&cases, &asked]() -> studies::CaseOfRow {
    std::vector<std::string> paths;
    for (const AskedInput& one : asked.inputs) paths.push_back(one.varied.path);
    const auto series = std::make_shared<tile::CaseSeries>(cases, std::move(paths));
    if (asked.answers->question() != studies::Question::size)
      return [series](std::span<const double> inputs) { return studies::RowCase{series->with(inputs), {}}; };
    return [series](std::span<const double> inputs) {
      tile::SizeCases sized = series->sizes_with(inputs);
      return studies::RowCase{std::move(sized.hot), std::move(sized.cold)};
    };
  };
  return question;
}

/// Whose a segment is. Neighbours go together, so that ranks wait little for each other.
int rank_of(long long segment) {
  constexpr long long segments_together = 8;
  return static_cast<int>(segment / segments_together % rank_count());
}

int threads_of(const Invocation& wanted) {
  if (wanted.threads > 0) return wanted.threads;
  return static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
}

/// A rank other than the first: its segments, in order, to the first.
int help(const studies::RowQuestion& question, const Invocation& wanted, long long first) {
  studies::RowOptions options;
  options.threads = threads_of(wanted);
  options.mine = [](long long segment) { return rank_of(segment) == own_rank(); };
  try {
    studies::solve_rows(question, {first, question.design->rows()}, options,
                        [](const std::vector<studies::AnsweredRow>& rows) { send_to_first(packed(rows)); });
  } catch (const Error& error) {
    std::string bytes(1, error_follows);
    put(bytes, static_cast<int>(error.code()));
    send_to_first(bytes + error.diagnostics().front().message);
  }
  return 0;
}

/// The first rank: its own segments and those of the others, in order.
bool solve_all(const studies::RowQuestion& question, const Invocation& wanted, const AskedSweep& asked,
               Keeper& keeper) {
  RowProgress progress(asked.design.rows(), keeper.rows());
  const auto take = [&](const std::vector<studies::AnsweredRow>& rows) {
    keeper.take(rows);
    progress(keeper.rows());
  };
  /// Delivers what others solved before the next segment of our own.
  const auto take_from_others = [&] {
    while (keeper.rows() < asked.design.rows() && !stop_wanted()) {
      const int rank = rank_of(studies::segment_number(asked.design, keeper.rows()));
      if (rank == 0) return;
      take(unpacked(received_from(rank), asked));
    }
  };
  studies::RowOptions options;
  options.threads = threads_of(wanted);
  options.stop_requested = stop_wanted;
  if (rank_count() > 1) options.mine = [](long long segment) { return rank_of(segment) == 0; };
  take_from_others();
  studies::solve_rows(question, {keeper.rows(), asked.design.rows()}, options,
                      [&](const std::vector<studies::AnsweredRow>& rows) {
                        take(rows);
                        take_from_others();
                      });
  return keeper.rows() == asked.design.rows();
}

int told(const Invocation& wanted, const tile::CaseTemplate& cases, const AskedSweep& asked, Keeper& keeper,
         SweptRows swept) {
  swept.rows = keeper.rows();
  swept.failed = keeper.failed();
  swept.troubles = keeper.troubles();
  swept.answer = [&](std::size_t place) { return keeper.answer(place); };
  const tile::CaseFile& file = cases.as_written();
  tell_answer(
      wanted, cases, as_stated(file.description, stated_words), "sweep.json", [&] { return json_rows(file, asked, swept, wanted.json); },
      [&] { return print_rows(file, asked, swept); }, {"answers.nc", "answers.csv"});
  keeper.close();
  if (swept.interrupted) return answer_interrupted();
  if (swept.failed < swept.rows) return 0;
  std::string message = "no row has an answer";
  if (!swept.troubles.empty()) message += "; the first: " + swept.troubles.front();
  return answer_no(Code::nothing_feasible, message);
}

}  // namespace

int sweep_rows_verb(const Invocation& wanted, const materials::Library& library) {
  heed_interrupts();
  std::optional<tile::CaseTemplate> read;
  std::optional<AskedSweep> asked;
  std::optional<Keeper> keeper;
  std::optional<Error> failure;
  try {
    read.emplace(wanted.case_file, library);
    asked = asked_sweep(wanted, *read);
    if (own_rank() == 0) keeper.emplace(wanted, *read, *asked);
  } catch (const Error& error) {
    failure = error;
  }
  const int status = largest_of_all(failure ? failure->exit_status() : 0);
  if (own_rank() > 0 && status != 0) return status;
  if (failure) throw Error(*failure);
  if (status != 0) throw Error(Code::internal, "another process could not begin; run it alone to see why");
  const tile::CaseTemplate& cases = *read;
  const studies::RowQuestion question = question_of(cases, *asked);
  const long long first = told_by_first(keeper ? keeper->rows() : 0);
  if (own_rank() > 0) return help(question, wanted, first);
  SweptRows swept;
  swept.interrupted = !solve_all(question, wanted, *asked, *keeper);
  keeper->flush();
  swept.solved = keeper->rows() - first;
  const bool interrupted = swept.interrupted;
  const int told_status = told(wanted, cases, *asked, *keeper, std::move(swept));
  return interrupted ? leave_ranks(told_status, true) : told_status;  // others may still be at work
}

}  // namespace tileflux::cli
