#include <algorithm>
#include <cmath>
#include <tuple>

#include "tile/instant.h"
#include "tileflux/tile/campaign.h"
#include "tileflux/tile/schedule.h"

namespace tileflux::tile {

namespace {

struct Window {
  double begin_s, end_s;
};

std::vector<Window> windows_of(const std::vector<KeepOut>& keep_out, double end_s) {
  std::vector<Window> windows;
  for (const KeepOut& one : keep_out) {
    for (long k = 0; k < one.times; ++k) {
      const double shift_s = static_cast<double>(k) * one.every_s;
      if (one.from_s + shift_s >= end_s) break;
      windows.push_back({one.from_s + shift_s, one.to_s + shift_s});
    }
  }
  std::sort(windows.begin(), windows.end(), [](const Window& a, const Window& b) { return a.begin_s < b.begin_s; });
  return windows;
}

std::vector<Occurrence> occurrences_of(const std::vector<Request>& requests, double end_s) {
  std::vector<Occurrence> occurrences;
  for (std::size_t r = 0; r < requests.size(); ++r) {
    const Request& request = requests[r];
    for (long k = 0; k < request.times; ++k) {
      const double begin_s = request.at_s + static_cast<double>(k) * request.every_s;
      if (begin_s >= end_s) break;
      occurrences.push_back({r, k, begin_s, begin_s + request.for_s});
    }
  }
  std::stable_sort(occurrences.begin(), occurrences.end(),
                   [](const Occurrence& a, const Occurrence& b) { return a.begin_s < b.begin_s; });
  return occurrences;
}

/// Something that changes at a time: a window opens or closes.
struct Change {
  double time_s;
  enum class Kind { close, open, keep_out_ends, keep_out_begins } kind;
  std::size_t occurrence;
};

std::vector<Change> changes_of(const std::vector<Occurrence>& occurrences, const std::vector<Window>& keep_out) {
  using Kind = Change::Kind;
  std::vector<Change> changes;
  for (std::size_t i = 0; i < occurrences.size(); ++i) {
    changes.push_back({occurrences[i].begin_s, Kind::open, i});
    changes.push_back({occurrences[i].end_s, Kind::close, i});
  }
  for (const Window& window : keep_out) {
    changes.push_back({window.begin_s, Kind::keep_out_begins, 0});
    changes.push_back({window.end_s, Kind::keep_out_ends, 0});
  }
  std::stable_sort(changes.begin(), changes.end(),
                   [](const Change& a, const Change& b) { return a.time_s < b.time_s; });
  return changes;
}

}  // namespace

Timetable::Timetable(const Campaign& campaign, double end_s)
    : requests_(campaign.requests), occurrences_(occurrences_of(requests_, end_s)) {
  const auto served_before = [&](std::size_t a, std::size_t b) {
    const auto rank = [&](std::size_t i) {
      const Occurrence& one = occurrences_[i];
      return std::tuple(-requests_[one.request].priority, one.begin_s, one.request);
    };
    return rank(a) < rank(b);
  };
  const std::vector<Change> changes = changes_of(occurrences_, windows_of(campaign.keep_out, end_s));
  std::vector<std::size_t> open;
  int kept_out = 0;
  for (std::size_t i = 0; i < changes.size();) {
    const double time_s = changes[i].time_s;
    for (; i < changes.size() && changes[i].time_s <= time_s + instant_s(time_s); ++i) {
      const Change& change = changes[i];
      switch (change.kind) {
        case Change::Kind::open:
          open.insert(std::upper_bound(open.begin(), open.end(), change.occurrence, served_before), change.occurrence);
          break;
        case Change::Kind::close:
          open.erase(std::find(open.begin(), open.end(), change.occurrence));
          break;
        case Change::Kind::keep_out_begins:
          ++kept_out;
          break;
        case Change::Kind::keep_out_ends:
          --kept_out;
          break;
      }
    }
    pieces_.push_back({time_s, kept_out > 0, open_.size(), open_.size() + open.size()});
    open_.insert(open_.end(), open.begin(), open.end());
  }
}

long Timetable::piece_at(double time_s) const {
  const double later_s = time_s + instant_s(time_s);
  const auto next = std::upper_bound(pieces_.begin(), pieces_.end(), later_s,
                                     [](double t_s, const Piece& piece) { return t_s < piece.begin_s; });
  return static_cast<long>(next - pieces_.begin()) - 1;
}

double Timetable::begin_s(long piece) const {
  return piece < 0 ? -never_s : pieces_[static_cast<std::size_t>(piece)].begin_s;
}

double Timetable::end_s(long piece) const {
  const auto next = static_cast<std::size_t>(piece + 1);
  return next < pieces_.size() ? pieces_[next].begin_s : never_s;
}

std::span<const std::size_t> Timetable::open(long piece) const {
  if (piece < 0) return {};
  const Piece& one = pieces_[static_cast<std::size_t>(piece)];
  return std::span(open_).subspan(one.first, one.last - one.first);
}

bool Timetable::kept_out(long piece) const { return piece >= 0 && pieces_[static_cast<std::size_t>(piece)].kept_out; }

bool Timetable::alike(long a, long b) const {
  const std::span<const std::size_t> first = open(a), second = open(b);
  if (kept_out(a) != kept_out(b) || first.size() != second.size()) return false;
  return std::equal(first.begin(), first.end(), second.begin(), [&](std::size_t i, std::size_t j) {
    const Request& one = requests_[occurrences_[i].request];
    const Request& other = requests_[occurrences_[j].request];
    return one.name == other.name && one.light_W == other.light_W && one.drive == other.drive;
  });
}

double Timetable::repeats_until(double from_s, double period_s) const {
  long a = piece_at(from_s), b = piece_at(from_s + period_s);
  double time_s = from_s;
  // Beginnings that are products and sums of doubles may differ by a little more than one instant after a long time.
  constexpr double few = 10.0;
  while (alike(a, b)) {
    const double ends_s = end_s(a), later_ends_s = end_s(b) - period_s;
    // After the last edge there is nothing more to compare, and no distance from it means anything.
    if (ends_s == never_s || later_ends_s == never_s) return std::min(ends_s, later_ends_s);
    if (!(std::abs(ends_s - later_ends_s) <= few * instant_s(later_ends_s + period_s)))
      return std::min(ends_s, later_ends_s);
    time_s = ends_s;
    ++a;
    ++b;
  }
  return time_s;
}

std::vector<double> shared_in_order(std::span<const double> asked, double capacity) {
  std::vector<double> given;
  double left = capacity;
  for (const double wish : asked) {
    given.push_back(std::clamp(left, 0.0, wish));
    left -= given.back();
  }
  return given;
}

}  // namespace tileflux::tile
