#pragma once
/// What each verb does: read, compute, print, write.

#include "cli/invocation.h"

namespace tileflux::cli {

/// Runs the verb and returns the exit status: 0, or 1 where the answer is "no". Throws Error.
int run_verb(const Invocation& wanted);

/// Where the materials library lies: beside the installed command, else in the source tree.
std::string default_materials_directory();

/// Set by an interrupt from the keyboard; the run then ends after its step with complete files.
void request_stop();

}  // namespace tileflux::cli
