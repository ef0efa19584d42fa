#include "tileflux/report/result_files.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <set>

#include "report/result_content.h"
#include "tileflux/results/digest.h"

namespace tileflux::report {

namespace {

namespace fs = std::filesystem;

/// The whole of a file that is not too large.
std::string content_of_file(const fs::path& path) {
  std::error_code trouble;
  if (!fs::exists(path, trouble))
    refuse_result(Code::file_unreadable, path.string(), "", "there is no such file or directory");
  if (!fs::is_regular_file(path, trouble))
    refuse_result(Code::file_unreadable, path.string(), "", "it is neither a file nor a directory");
  std::ifstream file(path, std::ios::binary);
  std::string text(most_result_bytes + 1, '\0');
  if (file) file.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (file.bad() || !file.is_open()) refuse_result(Code::file_unreadable, path.string(), "", "it cannot be read");
  text.resize(static_cast<std::size_t>(file.gcount()));
  if (text.size() > most_result_bytes)
    refuse_result(Code::text_too_large, path.string(), "",
                  fmt::format("it is larger than the {} MiB that are read", most_result_bytes >> 20));
  return text;
}

bool stands(const fs::path& path) {
  std::error_code trouble;
  return fs::is_regular_file(path, trouble);
}

std::string verb_of(const View& view) {
  if (const auto error = view.find("error"))
    view.refuse(Code::result_damaged,
                "it tells an error and no result: " + error->text_or("code", "of a kind that is not told"));
  if (!view.has("verb")) view.refuse(Code::result_damaged, "it does not say by which verb it was written");
  const std::string& verb = view.text("verb");
  const std::vector<std::string>& known = told_verbs();
  if (std::find(known.begin(), known.end(), verb) != known.end()) return verb;
  std::string all;
  for (const std::string& one : known) all += (all.empty() ? "" : ", ") + one;
  constexpr std::size_t most_quoted = 40;
  view.refuse(Code::choice_unknown,
              "no story is told of a result of the verb '" + verb.substr(0, most_quoted) + "', only of " + all);
}

/// The parts of a series are those of the run beside it, and it does not go on behind its end.
void check_series(const View& view, const results::SeriesTable& series, const fs::path& file) {
  std::set<std::string> told, there(series.parts.begin(), series.parts.end());
  for (const auto& [name, range] : view.entries("extremes")) told.insert(name);
  if (told != there)
    refuse_result(Code::table_shape, file.string(), "",
                  fmt::format("its {} parts are not the {} of the run beside it", there.size(), told.size()));
  constexpr double round_off = 1e-9;
  const double end_s = view.number("end_s");
  if (series.times_s.back() > end_s * (1.0 + round_off) + round_off)
    refuse_result(Code::table_shape, file.string(), "",
                  fmt::format("it goes on to {:.6g} s, the run beside it to {:.6g} s", series.times_s.back(), end_s));
}

/// The file beside a result is the one that was written with it.
void check_digest(const View& view, const fs::path& file) {
  if (const auto files = view.find("files")) {
    for (const View& one : files->items()) {
      if (one.text("file") != file.filename().string()) continue;
      if (one.text("sha256") == results::sha256_of_file(file)) return;
      refuse_result(Code::result_damaged, file.string(), "",
                    "it is not the file that was written with " + view.file() + ", or was changed since");
    }
  }
  refuse_result(Code::result_damaged, file.string(), "", "it was not written with " + view.file() + " beside it");
}

void add_tables(ResultContent& content, const std::string& verb, const fs::path& directory) {
  const View view = content.view();
  const fs::path series = directory / "series.nc", answers = directory / "answers.nc";
  if (verb == "run" && !view.has("accelerated") && stands(series)) {
    check_digest(view, series);
    content.series = results::read_series(series);
    check_series(view, *content.series, series);
  }
  if (verb == "sweep" && view.has("design") && stands(answers)) {
    check_digest(view, answers);
    content.answers = results::read_answers(answers);
  }
}

Result result_from(std::string text, const fs::path& path) {
  auto content = std::make_shared<ResultContent>();
  content->file = path.string();
  content->json = parse_result(text, content->file);
  Result result{path.string(), verb_of(content->view()), nullptr};
  if (!results::seal_holds(text))
    refuse_result(Code::result_damaged, content->file, "",
                  "it was changed since it was written: its seal does not fit, or is missing");
  add_tables(*content, result.verb, path.parent_path().empty() ? fs::path(".") : path.parent_path());
  result.content = std::move(content);
  return result;
}

/// Answers over a design whose sweep never came to its end: what was asked stands in `design.json`.
Result unfinished_sweep(const fs::path& directory) {
  auto content = std::make_shared<ResultContent>();
  content->file = (directory / "design.json").string();
  content->json = parse_result(content_of_file(directory / "design.json"), content->file);
  content->answers = results::read_answers(directory / "answers.nc");
  content->json["verb"] = "sweep";
  content->json["title"] = content->answers->title;
  content->json["interrupted"] = true;
  return {content->file, "sweep", content};
}

std::vector<Result> results_in(const fs::path& directory) {
  std::vector<Result> results;
  for (const std::string& verb : told_verbs()) {
    const fs::path file = directory / (verb + ".json");
    if (stands(file)) results.push_back(result_from(content_of_file(file), file));
  }
  const bool swept = std::any_of(results.begin(), results.end(), [](const Result& one) { return one.verb == "sweep"; });
  if (!swept && stands(directory / "design.json") && stands(directory / "answers.nc"))
    results.push_back(unfinished_sweep(directory));
  if (results.empty())
    refuse_result(
        Code::file_unreadable, directory.string(), "",
        "the directory holds no result of " + told_verbs().front() + ", run, duty, size, sweep, gains or margins");
  return results;
}

}  // namespace

const std::vector<std::string>& told_verbs() {
  static const std::vector<std::string> verbs{"balance", "run", "duty", "size", "sweep", "gains", "margins"};
  return verbs;
}

std::vector<Result> read_results(const std::vector<std::string>& paths) {
  std::vector<Result> results;
  for (const std::string& path : paths) {
    std::error_code trouble;
    if (fs::is_directory(path, trouble)) {
      for (Result& one : results_in(path)) results.push_back(std::move(one));
    } else if (fs::path(path).filename() == "design.json") {
      results.push_back(unfinished_sweep(fs::path(path).parent_path()));
    } else {
      results.push_back(result_from(content_of_file(path), path));
    }
  }
  return results;
}

Result result_of_text(std::string_view json, const std::string& name) {
  auto content = std::make_shared<ResultContent>();
  content->file = name;
  content->json = parse_result(json, name);
  Result result{name, verb_of(content->view()), nullptr};
  result.content = std::move(content);
  return result;
}

}  // namespace tileflux::report
