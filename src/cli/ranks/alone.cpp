/// Built without MPI: one process.

#include "cli/ranks.h"
#include "tileflux/base/errors.h"

namespace tileflux::cli {

void join_ranks() {}
int own_rank() { return 0; }
int rank_count() { return 1; }
void send_to_first(const std::string&) { throw Error(Code::internal, "there is no other process"); }
std::string received_from(int) { throw Error(Code::internal, "there is no other process"); }
long long told_by_first(long long number) { return number; }
int largest_of_all(int number) { return number; }
int leave_ranks(int exit_status, bool) { return exit_status; }

}  // namespace tileflux::cli
