#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/text.h"
#include "cli/verb_parts.h"
#include "cli/verbs.h"
#include "tileflux/input/document.h"

namespace tileflux::cli {

namespace {

namespace fs = std::filesystem;
using Answer = nlohmann::json;
using Expected = input::Node;

[[noreturn]] void unusable(const std::string& file, const std::string& message) {
  throw Error(Code::file_unreadable, file + ": " + message);
}

const Expected* entry_named(const Expected& map, std::string_view key) {
  const auto found = std::find_if(map.entries.begin(), map.entries.end(),
                                  [&](const Expected::Entry& entry) { return entry.key == key; });
  return found == map.entries.end() ? nullptr : &found->value;
}

std::string text_of(const Expected& map, std::string_view key) {
  const Expected* entry = entry_named(map, key);
  return entry == nullptr ? std::string() : entry->text;
}

double number_of(const Expected& map, std::string_view key, const std::string& file) {
  const std::string text = text_of(map, key);
  double value = 0.0;
  const auto [end, trouble] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (trouble != std::errc() || end != text.data() + text.size())
    unusable(file, fmt::format("line {}: '{}' is no number", map.line, key));
  return value;
}

/// What is wrong with one value of an answer; empty: nothing. `worst` becomes the largest share of a tolerance used up.
std::string fault_in(const Answer& answer, const Expected& expected, const std::string& file, double& worst) {
  const std::string path = text_of(expected, "path");
  if (!path.starts_with('/')) unusable(file, fmt::format("line {}: a value without a path", expected.line));
  const Answer::json_pointer pointer(path);
  if (!answer.contains(pointer)) return path + " is not in the answer";
  const Answer& got = answer.at(pointer);
  if (entry_named(expected, "text") != nullptr) {
    const std::string text = text_of(expected, "text");
    return got == Answer(text) ? "" : fmt::format("{} is {}, not '{}'", path, got.dump(), text);
  }
  const double value = number_of(expected, "value", file), within = number_of(expected, "within", file);
  if (text_of(expected, "because").empty()) unusable(file, path + ": the tolerance has no reason");
  if (!got.is_number()) return fmt::format("{} is {}, no number", path, got.dump());
  const double found = got.get<double>(), apart = std::abs(found - value);
  if (apart > 0.0) worst = std::max(worst, apart / within);
  if (apart <= within) return "";
  return fmt::format("{} is {:.10g}; expected {:.10g} within {:.1e} ({})", path, found, value, within,
                     text_of(expected, "because"));
}

/// A folder of cases with what it says to expect of them.
struct Group {
  std::string name;
  int right = 0;
  std::vector<std::string> faults;
  double worst = 0.0;  ///< largest error over its tolerance
  double seconds = 0.0;

  int wrong() const { return static_cast<int>(faults.size()); }
  int checks() const { return right + wrong(); }
};

/// Asks as a person would, and keeps what is said.
int ask(const Invocation& wanted, const fs::path& folder, const Expected& run, Answer& answer) {
  const std::string file = entry_named(run, "case") != nullptr ? text_of(run, "case") : "case.yaml";
  std::vector<std::string> words{"tileflux", text_of(run, "verb"), (folder / file).string(), "--json", "--no-why"};
  if (const Expected* arguments = entry_named(run, "arguments")) {
    for (const Expected& argument : arguments->items) words.push_back(argument.text);
  }
  std::vector<const char*> raw;
  for (const std::string& word : words) raw.push_back(word.c_str());
  const Overheard overheard;
  int status = 0;
  try {
    status = run_verb(read_command_line(static_cast<int>(raw.size()), raw.data(), wanted.materials_directory));
  } catch (const Error& error) {
    status = error.exit_status();
  }
  answer = Answer::parse(overheard.text(), nullptr, false);
  return status;
}

Group verified(const Invocation& wanted, const fs::path& folder, std::string name) {
  const std::string file = (folder / "expected.yaml").string();
  std::vector<Diagnostic> findings;
  const input::Document document = input::read_document(file, findings);
  if (!findings.empty()) throw Error(std::move(findings));
  if (document.root.items.empty()) unusable(file, "nothing is expected");
  const auto begin = std::chrono::steady_clock::now();
  Group group{std::move(name), 0, {}, 0.0, 0.0};
  const auto note = [&](const std::string& verb, const std::string& fault) {
    if (fault.empty())
      ++group.right;
    else
      group.faults.push_back(verb + ": " + fault);
  };
  for (const Expected& run : document.root.items) {
    const std::string verb = text_of(run, "verb");
    Answer answer;
    const int status = ask(wanted, folder, run, answer);
    const int promised = static_cast<int>(number_of(run, "exit_status", file));
    note(verb, status == promised ? "" : fmt::format("exit status {}, expected {}", status, promised));
    const Expected* values = entry_named(run, "values");
    for (const Expected& value : values == nullptr ? std::vector<Expected>() : values->items)
      note(verb, fault_in(answer, value, file, group.worst));
  }
  group.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  return group;
}

/// Folders with an expected.yaml, and those in folders without one: the ladder, and single laws in `laws`. The ladder
/// comes first.
std::vector<fs::path> folders_in(const std::string& directory) {
  std::vector<fs::path> folders, deeper;
  std::error_code trouble;
  const auto expects = [&trouble](const fs::path& folder) { return fs::exists(folder / "expected.yaml", trouble); };
  for (const auto& entry : fs::directory_iterator(directory, trouble)) {
    if (expects(entry.path())) {
      folders.push_back(entry.path());
      continue;
    }
    for (const auto& inner : fs::directory_iterator(entry.path(), trouble)) {
      if (expects(inner.path())) deeper.push_back(inner.path());
    }
  }
  std::sort(folders.begin(), folders.end());
  std::sort(deeper.begin(), deeper.end());
  folders.insert(folders.end(), deeper.begin(), deeper.end());
  if (folders.empty()) unusable(directory, "no folder in it has an expected.yaml");
  return folders;
}

std::string print_groups(const std::vector<Group>& groups, const std::string& directory, std::size_t faults) {
  int values = 0;
  double seconds = 0.0;
  Table table({"group", "checks", "passed", "failed", "worst error", "time, s", "verdict"});
  for (const Group& group : groups) {
    values += group.checks();
    seconds += group.seconds;
    table.row({group.name, std::to_string(group.checks()), std::to_string(group.right), std::to_string(group.wrong()),
               fmt::format("{:.2g}", group.worst), fmt::format("{:.2f}", group.seconds),
               group.faults.empty() ? "pass" : "FAIL"});
  }
  std::string text = fmt::format("Verification of this installation\n  {}\n\n{}", directory, table.text());
  for (const Group& group : groups) {
    for (const std::string& fault : group.faults) text += fmt::format("\n  {}: {}", group.name, fault);
  }
  if (faults > 0) text += '\n';
  return text + fmt::format("\n{} values, {} wrong, in {:.1f} s\n", values, faults, seconds) +
         "The worst error is in tolerances: 1 would just pass. Each group's README.md or expected.yaml says where its\n"
         "numbers come from; the whole of the verification is docs/verification.md.\n";
}

std::string json_groups(const std::vector<Group>& groups, const std::string& directory) {
  nlohmann::ordered_json json{{"tileflux", TILEFLUX_VERSION}, {"verb", "verify"}, {"cases", directory}};
  json["groups"] = nlohmann::ordered_json::array();
  for (const Group& group : groups) {
    json["groups"].push_back({{"case", group.name},
                              {"pass", group.faults.empty()},
                              {"checks", group.checks()},
                              {"right", group.right},
                              {"wrong", group.wrong()},
                              {"worst_error_in_tolerances", group.worst},
                              {"faults", group.faults},
                              {"time_s", group.seconds}});
  }
  return json.dump(2) + '\n';
}

}  // namespace

int verify_verb(const Invocation& wanted) {
  const std::string directory = wanted.case_file.empty() ? default_cases_directory() : wanted.case_file;
  std::vector<Group> groups;
  for (const fs::path& folder : folders_in(directory))
    groups.push_back(verified(wanted, folder, folder.lexically_relative(directory).generic_string()));
  std::size_t faults = 0;
  for (const Group& group : groups) faults += group.faults.size();
  say(wanted.json ? json_groups(groups, directory) : print_groups(groups, directory, faults));
  return faults == 0
             ? 0
             : answer_no(Code::verification_failed, fmt::format("{} values are not what they should be", faults));
}

}  // namespace tileflux::cli
