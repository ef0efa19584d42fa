#include "support/markdown.h"

#include <sstream>

namespace tileflux::test {

namespace {

constexpr const char* fence_mark = "```";
constexpr const char* status_mark = "# exit status ";
constexpr const char* save_mark = "Save this as `";

bool is_blank(const std::string& line) { return line.find_first_not_of(" \t\r") == std::string::npos; }

/// A command with the promise at its end taken off.
Command command_from(int line, std::string text) {
  Command command{line, std::move(text), 0};
  const auto mark = command.text.find(status_mark);
  if (mark == std::string::npos) return command;
  command.exit_status = std::stoi(command.text.substr(mark + std::string(status_mark).size()));
  command.text.erase(command.text.find_last_not_of(' ', mark - 1) + 1);
  return command;
}

}  // namespace

std::vector<Fence> fences_of(const std::string& page) {
  std::vector<Fence> fences;
  std::istringstream text(page);
  std::string lead;
  bool inside = false;
  int number = 0;
  for (std::string line; std::getline(text, line);) {
    ++number;
    const bool mark = line.starts_with(fence_mark);
    if (mark && !inside) fences.push_back({number + 1, line.substr(std::string(fence_mark).size()), lead, {}});
    if (!mark && inside) fences.back().lines.push_back(line);
    if (mark) inside = !inside;
    if (mark) lead.clear();
    if (!inside && !mark && !is_blank(line)) lead = line;
  }
  return fences;
}

std::vector<Command> commands_of(const Fence& fence) {
  std::vector<Command> commands;
  std::string joined;
  for (std::size_t i = 0; i < fence.lines.size(); ++i) {
    const std::string& line = fence.lines[i];
    if (joined.empty() && (is_blank(line) || line.starts_with('#'))) continue;
    joined += line;
    if (joined.ends_with('\\') && i + 1 < fence.lines.size()) {
      joined.back() = ' ';
      continue;
    }
    commands.push_back(command_from(fence.line + static_cast<int>(i), joined));
    joined.clear();
  }
  return commands;
}

std::string saved_as(const Fence& fence) {
  const auto begin = fence.lead.find(save_mark);
  if (begin == std::string::npos) return {};
  const auto name = begin + std::string(save_mark).size();
  return fence.lead.substr(name, fence.lead.find('`', name) - name);
}

}  // namespace tileflux::test
