#pragma once
/// The processes, on one machine or many, among which a sweep is shared out. Built without MPI, or not launched by
/// `mpirun`, this process is alone. Only one thread may call what is here.

#include <string>

namespace tileflux::cli {

/// Joins the others, if there are any. Call once.
void join_ranks();
int own_rank();  ///< 0: the one that writes and talks
int rank_count();

/// To rank 0, from another.
void send_to_first(const std::string& message);
/// What a rank sent next; waits for it. On rank 0 only.
std::string received_from(int rank);
/// A number of rank 0, on all.
long long told_by_first(long long number);
/// The largest of the numbers of all, on all.
int largest_of_all(int number);

/// Ends the part of this process. With `all` every process ends at once with this exit status: for errors, and where
/// others may still be at work. Returns the status.
int leave_ranks(int exit_status, bool all);

}  // namespace tileflux::cli
