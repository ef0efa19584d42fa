/// The benchmark: one command, one table. Every number is measured in this one run, solvers in turn, so that ratios mean
/// something on a machine that does other things beside.
///   build/tests/bench [--quick] [FILE]     FILE: where the page is written; without it to the terminal

#include <fmt/format.h>

#include <cstdio>
#include <fstream>
#include <string>

#include "bench/sections.h"

int main(int count, char** words) {
  bool quick = false;
  std::string file;
  for (int k = 1; k < count; ++k) {
    const std::string word = words[k];
    if (word == "--quick") {
      quick = true;
    } else {
      file = word;
    }
  }
  using namespace tileflux::bench;
  try {
    std::string page = head_of_page(quick);
    for (const Section section : {transients, steady_states, repeating_state, sweep_on_threads, growth_with_nodes}) {
      page += section(quick);
      std::fprintf(stderr, "%s", "one section done\n");
    }
    if (file.empty()) {
      std::fputs(page.c_str(), stdout);
    } else {
      std::ofstream(file) << page;
    }
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
}
