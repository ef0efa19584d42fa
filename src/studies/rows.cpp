#include "tileflux/studies/rows.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <condition_variable>
#include <exception>
#include <limits>
#include <map>
#include <memory>
#include <mutex>
#include <thread>
#include <utility>

#include "studies/reason.h"

namespace tileflux::studies {

namespace {

long long line_length(const Design& design) {
  return design.kind() == Design::Kind::grid ? static_cast<long long>(design.values(design.inputs() - 1).size()) : 1;
}

/// Both states of one row, with the tile that they are of.
struct Solved {
  std::unique_ptr<tile::TileSystem> system;
  SteadyStates states;
};

Solved solved_alone(const tile::Case& description, const SteadyGuess& guess = {}) {
  Solved solved;
  solved.system = std::make_unique<tile::TileSystem>(description);
  solved.states = steady_states(*solved.system, guess);
  return solved;
}

SteadyGuess guess_from(const Solved& solved) {
  return {solved.states.beam_off.x, solved.states.beam_on ? solved.states.beam_on->x : std::vector<double>()};
}

bool same_point(const OperatingPoint& a, const OperatingPoint& b) {
  if (a.x.size() != b.x.size() || a.regime != b.regime) return false;
  for (std::size_t i = 0; i < a.x.size(); ++i) {
    if (!(std::abs(a.x[i] - b.x[i]) <= same_state_within_K)) return false;
  }
  return true;
}

bool same_states(const SteadyStates& a, const SteadyStates& b) {
  return same_point(a.beam_off, b.beam_off) && a.beam_on.has_value() == b.beam_on.has_value() &&
         (!a.beam_on || same_point(*a.beam_on, *b.beam_on));
}

bool near_runaway(const SteadyStates& states) {
  return states.beam_on && std::any_of(states.beam_on->loop_gains.begin(), states.beam_on->loop_gains.end(),
                                       [](double gain) { return !(gain < most_loop_gain); });
}

class Segment {
 public:
  Segment(const RowQuestion& question, CaseOfRow& case_of, RowRange rows)
      : question_(question), case_of_(case_of), rows_(rows) {}

  std::vector<AnsweredRow> solved() {
    for (long long row = rows_.first; row < rows_.last; ++row) {
      AnsweredRow one;
      one.row = row;
      one.inputs = question_.design->row(row);
      answered_.push_back(std::move(one));
    }
    constexpr std::size_t shortest_way = 4;
    const bool steady = question_.answers->question() == Question::steady;
    if (steady && answered_.size() >= shortest_way && along_the_rows()) return std::move(answered_);
    for (AnsweredRow& one : answered_) alone(one);
    return std::move(answered_);
  }

 private:
  void alone(AnsweredRow& one) {
    one.trouble.reset();
    try {
      const RowCase asked = case_of_(one.inputs);
      one.answers = question_.answers->of(asked.description, asked.cold);
    } catch (const Error& error) {
      one.trouble = reason_of(error);
      one.answers.assign(question_.answers->fields().size(), std::numeric_limits<double>::quiet_NaN());
    }
  }

  /// False: what it filled in does not count.
  bool along_the_rows() {
    const std::size_t middle = answered_.size() / 2, last = answered_.size() - 1;
    try {
      Solved before;
      for (std::size_t i = 0; i < answered_.size(); ++i) {
        const tile::Case description = case_of_(answered_[i].inputs).description;
        if (!description.pipes.empty()) return false;
        Solved here = solved_alone(description, i == 0 ? SteadyGuess{} : guess_from(before));
        if (near_runaway(here.states)) return false;
        if ((i == middle || i == last) && !same_states(solved_alone(description).states, here.states)) return false;
        answered_[i].answers = question_.answers->of(*here.system, here.states);
        before = std::move(here);
      }
    } catch (const Error& error) {
      reason_of(error);
      return false;
    }
    return true;
  }

  const RowQuestion& question_;
  CaseOfRow& case_of_;
  RowRange rows_;
  std::vector<AnsweredRow> answered_;
};

/// Segments solved by threads and taken by the caller in order.
class Pool {
 public:
  Pool(const RowQuestion& question, std::vector<RowRange> segments, int threads)
      : question_(question), segments_(std::move(segments)) {
    for (int i = 0; i < std::max(1, threads); ++i)
      workers_.emplace_back([this](const std::stop_token& stop) { work(stop); });
  }
  ~Pool() {
    {
      const std::lock_guard lock(mutex_);
      ended_ = true;
    }
    changed_.notify_all();
  }

  const std::vector<RowRange>& segments() const { return segments_; }

  /// Waits for a segment; those before must have been taken.
  std::vector<AnsweredRow> taken(std::size_t segment) {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [&] { return failure_ || done_.contains(segment); });
    if (failure_) std::rethrow_exception(failure_);
    std::vector<AnsweredRow> rows = std::move(done_.at(segment));
    done_.erase(segment);
    taken_ = segment + 1;
    changed_.notify_all();
    return rows;
  }

 private:
  /// So many segments may wait to be taken.
  static constexpr std::size_t most_ahead = 1024;

  void work(const std::stop_token& stop) {
    try {
      CaseOfRow case_of = question_.make_cases();
      while (true) {
        std::size_t segment = 0;
        {
          std::unique_lock lock(mutex_);
          changed_.wait(lock, [&] { return ended_ || failure_ || next_ < taken_ + most_ahead; });
          if (ended_ || failure_ || stop.stop_requested() || next_ >= segments_.size()) return;
          segment = next_++;
        }
        std::vector<AnsweredRow> rows = solved_segment(question_, case_of, segments_[segment]);
        const std::lock_guard lock(mutex_);
        done_.emplace(segment, std::move(rows));
        changed_.notify_all();
      }
    } catch (...) {
      const std::lock_guard lock(mutex_);
      if (!failure_) failure_ = std::current_exception();
      changed_.notify_all();
    }
  }

  const RowQuestion& question_;
  const std::vector<RowRange> segments_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::map<std::size_t, std::vector<AnsweredRow>> done_;
  std::size_t next_ = 0, taken_ = 0;
  bool ended_ = false;
  std::exception_ptr failure_;
  std::vector<std::jthread> workers_;  // last: joined before anything above goes
};

}  // namespace

RowRange segment_at(const Design& design, long long first) {
  const long long line = line_length(design);
  const long long left_in_line = line - first % line;
  return {first, std::min(first + std::min(left_in_line, longest_segment), design.rows())};
}

long long segment_begin(const Design& design, long long row) {
  const long long line = line_length(design);
  return row - row % line % longest_segment;
}

long long segment_number(const Design& design, long long row) {
  const long long line = line_length(design);
  const long long in_line = (line + longest_segment - 1) / longest_segment;
  return row / line * in_line + row % line / longest_segment;
}

std::vector<AnsweredRow> solved_segment(const RowQuestion& question, CaseOfRow& case_of, RowRange segment) {
  return Segment(question, case_of, segment).solved();
}

long long solve_rows(const RowQuestion& question, RowRange rows, const RowOptions& options,
                     const std::function<void(std::vector<AnsweredRow>)>& deliver) {
  std::vector<RowRange> segments;
  long long number = 0;
  for (long long first = 0; first < rows.last; ++number) {
    const RowRange segment = segment_at(*question.design, first);
    if (segment.first >= rows.first && (!options.mine || options.mine(number))) segments.push_back(segment);
    first = segment.last;
  }
  Pool pool(question, std::move(segments), options.threads);
  long long reached = rows.first;
  for (std::size_t i = 0; i < pool.segments().size(); ++i) {
    if (options.stop_requested && options.stop_requested()) break;
    deliver(pool.taken(i));
    reached = pool.segments()[i].last;
  }
  return reached;
}

}  // namespace tileflux::studies
