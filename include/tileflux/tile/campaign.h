#pragma once
/// A timetable of light: who asks for how much, when and for how long, and when nothing may be emitted. The tile has
/// one drive, which those who ask at once share.

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace tileflux::tile {

/// Asks for light or for a share of rated drive, once or `times` times, every `every_s`.
struct Request {
  std::string name;  ///< who asks; windows of one name do not overlap
  double at_s = 0.0;
  double for_s = 0.0;
  std::optional<double> light_W;  ///< wanted out of the tile; either this or `drive`
  std::optional<double> drive;    ///< share of rated drive
  long priority = 0;              ///< the higher is served first; of equal ones the one that began earlier
  double every_s = 0.0;           ///< from beginning to beginning; counts with `times` above 1
  long times = 1;
};

/// Nothing is emitted from `from_s` to `to_s`, once or `times` times, every `every_s`.
struct KeepOut {
  double from_s = 0.0;
  double to_s = 0.0;
  double every_s = 0.0;
  long times = 1;
};

struct Campaign {
  std::vector<Request> requests;
  std::vector<KeepOut> keep_out;
  std::optional<double> needed_light_W;  ///< what counts as available; none: not asked
  bool to_its_end = false;               ///< the duration of the run was set to the end of the last request
};

/// More than this many names, or windows with repeats counted, are refused.
inline constexpr std::size_t most_campaign_names = 50;
inline constexpr std::size_t most_campaign_windows = 500'000;

/// One window of a request: its repeat, counted from 0, in [begin_s, end_s).
struct Occurrence {
  std::size_t request = 0;
  long repeat = 0;
  double begin_s = 0.0, end_s = 0.0;
};

/// A campaign laid out over time: between two edges the same windows are open.
class Timetable {
 public:
  /// Windows of one name must not overlap, and there are at most most_campaign_windows of them.
  Timetable(const Campaign& campaign, double end_s);

  /// All windows that begin before the end, by begin.
  const std::vector<Occurrence>& occurrences() const { return occurrences_; }

  /// The piece between two edges that holds `time_s`; a time within round-off of an edge counts as after it. -1 before
  /// the first edge.
  long piece_at(double time_s) const;
  double begin_s(long piece) const;
  double end_s(long piece) const;  ///< never_s after the last edge
  /// The open windows, by their places in `occurrences`, in the order in which they are served.
  std::span<const std::size_t> open(long piece) const;
  bool kept_out(long piece) const;

  /// The first edge later than `time_s` (by more than round-off), or never_s.
  double next_edge_after(double time_s) const { return end_s(piece_at(time_s)); }

  /// How long the timetable after `from_s` equals that a period later, request by request in what they ask for: the
  /// first time at which it does not, or never_s.
  double repeats_until(double from_s, double period_s) const;

 private:
  struct Piece {
    double begin_s;
    bool kept_out;
    std::size_t first, last;  ///< of `open_`
  };
  bool alike(long a, long b) const;

  std::vector<Request> requests_;
  std::vector<Occurrence> occurrences_;
  std::vector<Piece> pieces_;
  std::vector<std::size_t> open_;
};

/// How a drive or a light is shared: of `capacity`, what each gets who asks for `asked`, the first one first.
std::vector<double> shared_in_order(std::span<const double> asked, double capacity);

}  // namespace tileflux::tile
