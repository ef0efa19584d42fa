#include "support/child_process.h"

#include <fcntl.h>
#include <poll.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <stdexcept>

namespace tileflux::test {

namespace {

int status_of(pid_t child) {
  int status = 0;
  while (::waitpid(child, &status, 0) < 0) {
    if (errno != EINTR) throw std::runtime_error("waitpid failed");
  }
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

void become(const std::vector<std::string>& arguments, const std::string& directory, int output, int error) {
  ::dup2(output, STDOUT_FILENO);
  ::dup2(error, STDERR_FILENO);
  ::dup2(::open("/dev/null", O_RDONLY), STDIN_FILENO);
  if (!directory.empty() && ::chdir(directory.c_str()) != 0) ::_exit(126);
  std::vector<char*> raw;
  for (const std::string& argument : arguments) raw.push_back(const_cast<char*>(argument.c_str()));
  raw.push_back(nullptr);
  ::execvp(raw.front(), raw.data());
  ::_exit(127);
}

/// Reads both pipes side by side until both are closed, so that neither can fill up and block the program.
void drain(int output, int error, ProgramResult& result) {
  std::array<pollfd, 2> watched{pollfd{output, POLLIN, 0}, pollfd{error, POLLIN, 0}};
  std::array<std::string*, 2> texts{&result.standard_output, &result.standard_error};
  std::array<char, 65536> buffer{};
  int open = 2;
  while (open > 0) {
    if (::poll(watched.data(), watched.size(), -1) < 0 && errno != EINTR) throw std::runtime_error("poll failed");
    for (std::size_t i = 0; i < watched.size(); ++i) {
      if (watched[i].fd < 0 || watched[i].revents == 0) continue;
      const ssize_t count = ::read(watched[i].fd, buffer.data(), buffer.size());
      if (count > 0) texts[i]->append(buffer.data(), static_cast<std::size_t>(count));
      if (count > 0 || (count < 0 && errno == EINTR)) continue;
      ::close(watched[i].fd);
      watched[i].fd = -1;
      --open;
    }
  }
}

}  // namespace

ProgramResult run_program(const std::vector<std::string>& arguments, const std::string& directory) {
  std::array<int, 2> output{}, error{};
  if (::pipe2(output.data(), O_CLOEXEC) != 0 || ::pipe2(error.data(), O_CLOEXEC) != 0) {
    throw std::runtime_error("pipe failed");
  }
  const pid_t child = ::fork();
  if (child < 0) throw std::runtime_error("fork failed");
  if (child == 0) become(arguments, directory, output[1], error[1]);
  ::close(output[1]);
  ::close(error[1]);
  ProgramResult result;
  drain(output[0], error[0], result);
  result.exit_status = status_of(child);
  return result;
}

int run_in_child(const std::function<int()>& body) {
  constexpr unsigned longest_s = 60;
  constexpr int exception_status = 99;
  const pid_t child = ::fork();
  if (child < 0) throw std::runtime_error("fork failed");
  if (child == 0) {
    ::alarm(longest_s);
    int status = exception_status;
    try {
      status = body();
    } catch (const std::exception& exception) {
      std::fprintf(stderr, "in the child: %s\n", exception.what());
    } catch (...) {
      std::fprintf(stderr, "in the child: unknown exception\n");
    }
    ::_exit(status);
  }
  return status_of(child);
}

}  // namespace tileflux::test
