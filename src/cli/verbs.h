#pragma once
/// What each verb does: read, compute, print, write.

#include <string>

#include "cli/invocation.h"
#include "tileflux/materials/library.h"

namespace tileflux::cli {

/// Those with a file of their own.
int gains_verb(const Invocation& wanted, const materials::Library& library);
int margins_verb(const Invocation& wanted, const materials::Library& library);
int show_verb(const Invocation& wanted);
int report_verb(const Invocation& wanted);

/// Runs the verb and returns the exit status: 0, or 1 where the answer is "no". Throws Error.
int run_verb(const Invocation& wanted);

/// Where the materials library lies: beside the installed command, else in the source tree.
std::string default_materials_directory();

/// Writes to standard output. Throws Error (output_unwritable) if it is closed or full.
void say(const std::string& text);

}  // namespace tileflux::cli
