/// The only place that knows MPI.

#include <mpi.h>

#include <cstdlib>

#include "cli/ranks.h"

namespace tileflux::cli {

namespace {

/// A message longer than an int can say is never made: a segment of rows is far shorter.
constexpr int tag = 1;

bool joined = false;

/// Whether a launcher started this process; without one MPI is not even begun.
bool launched() {
  for (const char* name : {"OMPI_COMM_WORLD_SIZE", "PMIX_RANK", "PMI_SIZE", "PMI_RANK"}) {
    if (std::getenv(name) != nullptr) return true;
  }
  return false;
}

}  // namespace

void join_ranks() {
  if (joined || !launched()) return;
  int provided = 0;
  MPI_Init_thread(nullptr, nullptr, MPI_THREAD_FUNNELED, &provided);
  joined = true;
}

int own_rank() {
  int rank = 0;
  if (joined) MPI_Comm_rank(MPI_COMM_WORLD, &rank);
  return rank;
}

int rank_count() {
  int count = 1;
  if (joined) MPI_Comm_size(MPI_COMM_WORLD, &count);
  return count;
}

void send_to_first(const std::string& message) {
  MPI_Send(message.data(), static_cast<int>(message.size()), MPI_CHAR, 0, tag, MPI_COMM_WORLD);
}

std::string received_from(int rank) {
  MPI_Status status;
  MPI_Probe(rank, tag, MPI_COMM_WORLD, &status);
  int size = 0;
  MPI_Get_count(&status, MPI_CHAR, &size);
  std::string message(static_cast<std::size_t>(size), '\0');
  MPI_Recv(message.data(), size, MPI_CHAR, rank, tag, MPI_COMM_WORLD, MPI_STATUS_IGNORE);
  return message;
}

long long told_by_first(long long number) {
  if (joined) MPI_Bcast(&number, 1, MPI_LONG_LONG, 0, MPI_COMM_WORLD);
  return number;
}

int largest_of_all(int number) {
  int largest = number;
  if (joined) MPI_Allreduce(&number, &largest, 1, MPI_INT, MPI_MAX, MPI_COMM_WORLD);
  return largest;
}

int leave_ranks(int exit_status, bool all) {
  if (!joined) return exit_status;
  joined = false;
  int count = 1;
  MPI_Comm_size(MPI_COMM_WORLD, &count);
  if (all && count > 1) MPI_Abort(MPI_COMM_WORLD, exit_status);
  MPI_Finalize();
  return exit_status;
}

}  // namespace tileflux::cli
