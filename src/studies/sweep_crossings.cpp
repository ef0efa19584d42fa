/// Values between two points of a sweep at which something changes.

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <functional>

#include "studies/sweep_parts.h"

namespace tileflux::studies {

namespace {

/// The word of what is watched, at a value. Values without an answer have none.
using Label = std::function<std::string(double)>;

constexpr const char* no_answer = "no answer";

/// Searches one interval. Between its ends every value may be asked for.
class Interval {
 public:
  Interval(SweptTile& tile, double low, double high) : tile_(tile), low_(low), high_(high) {}

  double low() const { return low_; }
  double high() const { return high_; }
  const Glance& at(double value) { return tile_.at(value); }

  /// Where a label changes, by halving: the last value that has the label of the lower end, and the first that has not;
  /// then on from there until the label of the upper end is met.
  void changes(const Label& label, const std::function<void(double, double)>& tell) {
    constexpr int most_changes = 8;
    double from = low_;
    std::string at_from = label(from);
    const std::string at_end = label(high_);
    for (int n = 0; n < most_changes && at_from != at_end; ++n) {
      double below = from, above = high_;
      std::string at_above = at_end;
      while (above - below > resolution(below, above)) {
        const double middle = 0.5 * (below + above);
        if (middle <= below || middle >= above) break;
        const std::string at_middle = label(middle);
        if (at_middle == at_from) {
          below = middle;
        } else {
          above = middle;
          at_above = at_middle;
        }
      }
      tell(below, above);
      from = above;
      at_from = at_above;
    }
  }

 private:
  /// Relative to the value; about zero to the interval.
  double resolution(double below, double above) const {
    constexpr double about_zero = 1e-3;
    return crossing_tolerance * std::max({std::abs(below), std::abs(above), about_zero * (high_ - low_)});
  }

  SweptTile& tile_;
  double low_, high_;
};

std::string limit_key(const std::optional<StateMargin>& limit) {
  if (!limit) return "none";
  const Margin& margin = limit->margin;
  const std::string what = margin.kind == LimitKind::temperature ? "" : std::string(name_of(margin.kind)) + " of ";
  return what + margin.where() + (margin.upper ? " below" : " above");
}

class CrossingSearch {
 public:
  CrossingSearch(SweptTile& tile, const Sweep& sweep, const SweepOptions& options)
      : tile_(tile), sweep_(sweep), options_(options) {}

  std::vector<Crossing> between(double low, double high) {
    Interval whole(tile_, low, high);
    double answered_low = low, answered_high = high;
    whole.changes([&](double value) { return std::string(tile_.at(value).trouble ? no_answer : "an answer"); },
                  [&](double below, double above) {
                    add(Crossing::Kind::answer, below, above, {}, tile_.at(below).trouble ? no_answer : "an answer",
                        tile_.at(above).trouble ? no_answer : "an answer");
                    (tile_.at(above).trouble ? answered_high : answered_low) = tile_.at(above).trouble ? below : above;
                  });
    if (!tile_.at(answered_low).trouble && !tile_.at(answered_high).trouble && answered_low < answered_high)
      within(Interval(tile_, answered_low, answered_high));
    std::stable_sort(found_.begin(), found_.end(),
                     [](const Crossing& a, const Crossing& b) { return a.value < b.value; });
    return std::move(found_);
  }

 private:
  void within(Interval interval) {
    labels(interval, Crossing::Kind::regime, {}, [](const Glance& glance) {
      const Balance& found = glance.balance;
      return std::string(name_of(found.beam_on ? found.beam_on->regime : found.beam_off.regime));
    });
    binding_limits(interval);
    if (sweep_.has_beam)
      labels(interval, Crossing::Kind::sustainable, {},
             [](const Glance& glance) { return std::string(glance.sustainable ? "yes" : "no"); });
    margins(interval, false);
    if (sweep_.has_beam) margins(interval, true);
    for (std::size_t h = 0; h < sweep_.heaters.size(); ++h) {
      labels(interval, Crossing::Kind::heater, sweep_.heaters[h], [h](const Glance& glance) {
        const bool off = glance.heater_off_W[h] > 0.0;
        const bool on = !glance.heater_on_W.empty() && glance.heater_on_W[h] > 0.0;
        return std::string(on ? (off ? "works" : "works with the beam on")
                              : (off ? (glance.heater_on_W.empty() ? "works" : "works with the beam off") : "idle"));
      });
    }
    if (sweep_.holds_tilt)
      labels(interval, Crossing::Kind::tilt, {}, [](const Glance& glance) { return glance.turned; });
    else if (options_.tilt)
      tilts(interval);
  }

  void add(Crossing::Kind kind, double below, double above, const std::string& subject, const std::string& from,
           const std::string& to) {
    found_.push_back({kind, 0.5 * (below + above), subject, from, to, {}, {}});
  }

  void labels(Interval& interval, Crossing::Kind kind, const std::string& subject,
              const std::function<std::string(const Glance&)>& of_glance) {
    const Label label = [&](double value) {
      const Glance& glance = tile_.at(value);
      return glance.trouble ? std::string(no_answer) : of_glance(glance);
    };
    interval.changes(label,
                     [&](double below, double above) { add(kind, below, above, subject, label(below), label(above)); });
  }

  void binding_limits(Interval& interval) {
    const Label label = [&](double value) {
      const Glance& glance = tile_.at(value);
      return glance.trouble ? std::string(no_answer) : limit_key(glance.binding);
    };
    interval.changes(label, [&](double below, double above) {
      add(Crossing::Kind::binding, below, above, {}, label(below), label(above));
      found_.back().from_limit = tile_.at(below).binding;
      found_.back().to_limit = tile_.at(above).binding;
    });
  }

  const std::vector<Margin>& margins_at(double value, bool beam) {
    const Balance& found = tile_.at(value).balance;
    return beam ? found.beam_on->margins : found.beam_off.margins;
  }

  /// Where a margin of one state goes through zero: it is continuous, so a root is closed in on.
  void margins(Interval& interval, bool beam) {
    const std::vector<Margin> low = margins_at(interval.low(), beam), high = margins_at(interval.high(), beam);
    for (std::size_t i = 0; i < low.size() && i < high.size(); ++i) {
      if ((low[i].margin < 0.0) == (high[i].margin < 0.0)) continue;
      const auto margin_of = [&](double value) {
        const Glance& glance = tile_.at(value);
        if (glance.trouble) throw Error(*glance.trouble);
        return margins_at(value, beam)[i].margin;
      };
      double value = low[i].margin == 0.0 ? interval.low() : interval.high();
      if (low[i].margin != 0.0 && high[i].margin != 0.0) {
        try {
          std::uintmax_t most_steps = 100;
          const boost::math::tools::eps_tolerance<double> close(44);
          const auto bracket = boost::math::tools::toms748_solve(margin_of, interval.low(), interval.high(),
                                                                 low[i].margin, high[i].margin, close, most_steps);
          value = 0.5 * (bracket.first + bracket.second);
        } catch (const Error&) {
          continue;  // answers end on the way, which is told
        }
      }
      const bool broken = low[i].margin < 0.0;
      add(Crossing::Kind::margin, value, value, low[i].where(), broken ? "broken" : "kept", broken ? "kept" : "broken");
      found_.back().from_limit = StateMargin{low[i], beam};
      found_.back().to_limit = StateMargin{high[i], beam};
    }
  }

  void tilts(Interval& interval) {
    const Label label = [&](double value) -> std::string {
      try {
        switch (tile_.tilt_at(value).need) {
          case TiltNeeded::Need::no_limit:
            return "no limit asks for it";
          case TiltNeeded::Need::not_free:
            return "not free";
          case TiltNeeded::Need::none:
            return "none needed";
          case TiltNeeded::Need::tilted:
            return "needed";
          case TiltNeeded::Need::too_cold:
            return "too cold when tilted";
          case TiltNeeded::Need::in_vain:
            return "in vain";
        }
      } catch (const Error&) {
      }
      return no_answer;
    };
    interval.changes(label, [&](double below, double above) {
      add(Crossing::Kind::tilt, below, above, {}, label(below), label(above));
    });
  }

  SweptTile& tile_;
  const Sweep& sweep_;
  const SweepOptions& options_;
  std::vector<Crossing> found_;
};

}  // namespace

std::vector<Crossing> crossings_between(SweptTile& tile, double low, double high, const Sweep& so_far,
                                        const SweepOptions& options) {
  return CrossingSearch(tile, so_far, options).between(low, high);
}

}  // namespace tileflux::studies
