#pragma once
/// What every refusal to write must look like.

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>

#include <csignal>
#include <string>

#include "tileflux/base/errors.h"

namespace tileflux::test {

/// Runs `action` and expects Error output_unwritable whose message holds every one of `words`.
template <typename Action>
void expect_unwritable(Action action, std::initializer_list<std::string> words) {
  try {
    action();
    ADD_FAILURE() << "nothing was thrown";
  } catch (const Error& error) {
    EXPECT_EQ(entry_of(error.code()).slug, "output-unwritable");
    for (const std::string& word : words) EXPECT_THAT(error.what(), testing::HasSubstr(word));
  }
}

/// From here on this process cannot make a file larger than that, as on a full disk, and is told so instead of ended.
inline void limit_file_size(rlim_t bytes) {
  std::signal(SIGXFSZ, SIG_IGN);
  const rlimit limit{bytes, bytes};
  if (::setrlimit(RLIMIT_FSIZE, &limit) != 0) throw std::runtime_error("setrlimit failed");
}

/// For a forked child: 0 if nothing failed in it.
inline int child_verdict() { return testing::Test::HasFailure() ? 1 : 0; }

}  // namespace tileflux::test
