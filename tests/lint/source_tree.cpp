#include "lint/source_tree.h"

#include <algorithm>
#include <cctype>
#include <fstream>
#include <map>
#include <set>
#include <sstream>

#include "support/temporary_directory.h"

namespace tileflux::lint {

namespace {

/// What each module may use directly, besides itself and base. An entry with a slash names a single header.
const std::map<std::string, std::set<std::string>> may_use = {
    {"base", {}},
    {"units", {}},
    {"input", {"units"}},
    {"solvers", {}},
    {"results", {"units"}},
    {"materials", {"input", "units"}},
    {"environment", {"units"}},
    {"devices", {"units"}},
    {"network", {"units", "solvers/system.h"}},
    {"tile", {"materials", "environment", "devices", "network", "input", "solvers/system.h"}},
    {"studies", {"tile", "solvers", "results"}},
    {"report", {"results", "units"}},
    {"cli",
     {"units", "input", "solvers", "results", "materials", "environment", "devices", "network", "tile", "studies",
      "report"}},
};

/// The modules that keep an outside library to themselves, by the beginning of its headers' names.
const std::map<std::string, std::set<std::string>> keepers = {
    {"udunits", {"units"}},    {"yaml-cpp/", {"input"}},    {"netcdf", {"results"}},
    {"CLI/", {"cli"}},         {"sundials/", {"solvers"}},
    {"kinsol/", {"solvers"}},  {"sunlinsol/", {"solvers"}}, {"sunmatrix/", {"solvers"}},
    {"nvector/", {"solvers"}}, {"klu", {"solvers"}},        {"nlohmann/", {"input", "results", "report", "cli"}},
    {"mpi.h", {"cli"}},       {"openssl/", {"results"}}, {"kainjow/", {"report"}},
};

struct Include {
  std::string name;
  bool angled = false;
  int line = 0;
};

bool is_source(const fs::path& path) { return path.extension() == ".h" || path.extension() == ".cpp"; }

std::vector<fs::path> files_below(const fs::path& top) {
  std::vector<fs::path> files;
  if (!fs::exists(top)) return files;
  for (const auto& entry : fs::recursive_directory_iterator(top)) {
    if (entry.is_regular_file()) files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

std::vector<fs::path> sources_of(const fs::path& project) {
  std::vector<fs::path> sources;
  for (const char* top : {"include", "src"}) {
    for (const fs::path& file : files_below(project / top)) {
      if (is_source(file)) sources.push_back(file);
    }
  }
  return sources;
}

std::vector<Include> includes_of(const fs::path& file) {
  std::vector<Include> includes;
  std::ifstream input(file);
  int number = 0;
  for (std::string line; std::getline(input, line);) {
    ++number;
    std::string squeezed;
    std::remove_copy_if(line.begin(), line.end(), std::back_inserter(squeezed),
                        [](unsigned char letter) { return std::isspace(letter) != 0; });
    const std::string directive = "#include";
    if (!squeezed.starts_with(directive) || squeezed.size() < directive.size() + 3) continue;
    const char opening = squeezed[directive.size()];
    const std::size_t begin = directive.size() + 1;
    const std::size_t end = squeezed.find(opening == '<' ? '>' : '"', begin);
    if (end != std::string::npos) includes.push_back({squeezed.substr(begin, end - begin), opening == '<', number});
  }
  return includes;
}

/// The module of a file below include/tileflux or src, empty if it lies elsewhere.
std::string module_of(const fs::path& project, const fs::path& file) {
  const fs::path inside = file.lexically_normal().lexically_relative(project.lexically_normal());
  auto part = inside.begin();
  if (part == inside.end()) return {};
  if (*part == "include" && std::next(part) != inside.end()) ++part;
  ++part;
  return part == inside.end() || std::next(part) == inside.end() ? std::string() : part->string();
}

/// The file that an include of ours stands for, empty if there is none.
fs::path resolve(const fs::path& project, const fs::path& from, const std::string& name) {
  for (const fs::path& base : {from.parent_path(), project / "include", project / "src"}) {
    const fs::path candidate = (base / name).lexically_normal();
    if (fs::is_regular_file(candidate)) return candidate;
  }
  return {};
}

std::string at(const fs::path& project, const fs::path& file, int line) {
  return file.lexically_relative(project).string() + ':' + std::to_string(line) + ": ";
}

bool allowed(const std::string& user, const std::string& used, const fs::path& header) {
  if (used == user || used == "base") return true;
  const auto rule = may_use.find(user);
  if (rule == may_use.end()) return false;
  return rule->second.contains(used) || rule->second.contains(used + '/' + header.filename().string());
}

int lines_of(const fs::path& file) {
  const std::string text = test::read_file(file);
  return static_cast<int>(std::count(text.begin(), text.end(), '\n'));
}

/// Whether `word` stands in the text and is not part of a longer word.
bool holds_word(const std::string& text, const std::string& word) {
  const auto is_inner = [](char letter) {
    return std::isalnum(static_cast<unsigned char>(letter)) != 0 || letter == '_' || letter == '-';
  };
  for (std::size_t found = text.find(word); found != std::string::npos; found = text.find(word, found + 1)) {
    const std::size_t end = found + word.size();
    if ((found == 0 || !is_inner(text[found - 1])) && (end == text.size() || !is_inner(text[end]))) return true;
  }
  return false;
}

}  // namespace

Findings broken_ranks(const fs::path& project) {
  Findings findings;
  for (const fs::path& file : sources_of(project)) {
    const std::string user = module_of(project, file);
    if (!may_use.contains(user)) findings.push_back(at(project, file, 1) + "'" + user + "' is not a module");
    for (const Include& include : includes_of(file)) {
      if (include.angled && !include.name.starts_with("tileflux/")) continue;
      const fs::path header = resolve(project, file, include.name);
      if (header.empty()) {
        findings.push_back(at(project, file, include.line) + include.name + " is not found");
        continue;
      }
      const std::string used = module_of(project, header);
      if (!allowed(user, used, header)) {
        findings.push_back(at(project, file, include.line) + user + " may not use " + used + " (" + include.name + ")");
      }
    }
  }
  return findings;
}

Findings foreign_public_includes(const fs::path& project) {
  Findings findings;
  for (const fs::path& file : files_below(project / "include")) {
    for (const Include& include : includes_of(file)) {
      const bool ours = include.name.starts_with("tileflux/") && fs::exists(project / "include" / include.name);
      const bool standard = include.angled && include.name.find_first_of("/.") == std::string::npos;
      const bool eigen =
          include.angled && (include.name.starts_with("Eigen/") || include.name.starts_with("unsupported/Eigen/"));
      if (!ours && !standard && !eigen) {
        findings.push_back(at(project, file, include.line) + include.name + " in a public header");
      }
    }
  }
  return findings;
}

Findings straying_libraries(const fs::path& project) {
  Findings findings;
  for (const fs::path& file : files_below(project / "src")) {
    if (!is_source(file)) continue;
    const std::string user = module_of(project, file);
    for (const Include& include : includes_of(file)) {
      if (!include.angled) continue;
      for (const auto& [beginning, modules] : keepers) {
        if (include.name.starts_with(beginning) && !modules.contains(user)) {
          findings.push_back(at(project, file, include.line) + include.name + " is kept by another module than " +
                             user);
        }
      }
    }
  }
  return findings;
}

Findings oversized_files(const fs::path& project) {
  Findings findings;
  for (const fs::path& file : sources_of(project)) {
    const int most = file.extension() == ".h" ? most_header_lines : most_source_lines;
    const int lines = lines_of(file);
    if (lines > most) {
      findings.push_back(at(project, file, lines) + std::to_string(lines) + " lines, at most " + std::to_string(most));
    }
  }
  return findings;
}

Findings unfinished_marks(const fs::path& project) {
  // Put together from halves, so that this file does not find itself.
  const std::string marks[] = {std::string("TO") + "DO", std::string("FIX") + "ME"};
  Findings findings;
  for (const char* top : {"include", "src", "tests", "docs", "cases", "materials"}) {
    for (const fs::path& file : files_below(project / top)) {
      std::istringstream text(test::read_file(file));
      int number = 0;
      for (std::string line; std::getline(text, line);) {
        ++number;
        for (const std::string& mark : marks) {
          if (holds_word(line, mark)) findings.push_back(at(project, file, number) + mark);
        }
      }
    }
  }
  return findings;
}

Findings undocumented_codes(const fs::path& project, const std::vector<std::string>& slugs) {
  const fs::path page = project / "docs/errors.md";
  if (!fs::exists(page)) return {"docs/errors.md: missing"};
  const std::string text = test::read_file(page);
  Findings findings;
  for (const std::string& slug : slugs) {
    if (text.find('`' + slug + '`') == std::string::npos)
      findings.push_back("docs/errors.md: " + slug + " is not explained");
  }
  return findings;
}

Findings untested_codes(const fs::path& project, const std::vector<std::string>& slugs) {
  std::set<std::string> missing(slugs.begin(), slugs.end());
  const fs::path lint_folder = project / "tests/lint";
  for (const fs::path& file : files_below(project / "tests")) {
    if (missing.empty()) break;
    if (file.parent_path() == lint_folder) continue;
    const std::string text = test::read_file(file);
    std::erase_if(missing, [&](const std::string& slug) {
      std::string enumerator = "Code::" + slug;
      std::replace(enumerator.begin(), enumerator.end(), '-', '_');
      return holds_word(text, slug) || holds_word(text, enumerator);
    });
  }
  Findings findings;
  for (const std::string& slug : missing) findings.push_back("tests: no test raises " + slug);
  return findings;
}

Findings strangers_at_the_top(const fs::path& project) {
  const std::set<std::string> expected = {"README.md", "DEVELOPERS.md", "CMakeLists.txt", "CMakePresets.json",
                                          "src",       "include",       "tests",          "materials",
                                          "cases",     "docs"};
  Findings findings;
  for (const auto& entry : fs::directory_iterator(project)) {
    const std::string name = entry.path().filename().string();
    const bool build = entry.is_directory() && (name == "build" || name.starts_with("build-"));
    if (!expected.contains(name) && !name.starts_with(".") && !build)
      findings.push_back(name + ": does not belong here");
  }
  for (const std::string& name : expected) {
    if (!fs::exists(project / name)) findings.push_back(name + ": missing");
  }
  return findings;
}

}  // namespace tileflux::lint
