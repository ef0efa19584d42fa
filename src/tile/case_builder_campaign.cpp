/// The timetable of light: from list or table to requests and windows, and what their rows say together.

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <set>
#include <utility>

#include "tile/case_builder.h"
#include "tileflux/input/csv_table.h"
#include "tileflux/tile/schedule.h"

namespace tileflux::tile {

namespace {

using input::CountType;
using input::CsvColumn;
using input::NameType;
using input::QuantityType;

constexpr long most_times = 500'000;
constexpr std::size_t most_told = 100;  ///< findings: a table of thousands of rows may be wrong in every one

std::vector<CsvColumn> request_columns() {
  const QuantityType window{{"s"}, {0.01, 1e9}}, time{{"s"}, {0.0, 1e9}};
  const CountType priority{-1000, 1000}, times{1, most_times};
  return {{.name = "name", .type = NameType{}},
          {.name = "at", .type = time},
          {.name = "for", .type = window},
          {.name = "light", .type = QuantityType{{"W"}, {1e-12, 1e12}}, .required = false, .filled = false},
          {.name = "drive", .type = QuantityType{{"1"}, {0.0, 1.0, true}}, .required = false, .filled = false},
          {.name = "priority", .type = priority, .required = false, .filled = false},
          {.name = "every", .type = window, .required = false, .filled = false},
          {.name = "times", .type = times, .required = false, .filled = false}};
}

std::vector<CsvColumn> keep_out_columns() {
  const QuantityType window{{"s"}, {0.01, 1e9}}, time{{"s"}, {0.0, 1e9}};
  return {{.name = "from", .type = time},
          {.name = "to", .type = time},
          {.name = "every", .type = window, .required = false, .filled = false},
          {.name = "times", .type = CountType{1, most_times}, .required = false, .filled = false}};
}

/// Where findings about a row go: to a key of its map, or to a cell of its table.
using Find = std::function<void(Code, const std::string& key, const std::string& message, Severity)>;

struct Row {
  Find find;
  std::string where;  ///< `row 3` or `line 12`
  std::optional<double> every_s;
  std::optional<long> times;
  void refuse(Code code, const std::string& key, const std::string& message) const {
    find(code, key, message, Severity::error);
  }
};

struct RequestRow : Row {
  Request request;
};
struct KeepOutRow : Row {
  KeepOut window;
};

std::optional<double> cell(const input::CsvTable& table, const char* column, std::size_t row) {
  const double value = table.numbers(column)[row];
  return std::isnan(value) ? std::nullopt : std::optional(value);
}

/// A window of a row, with repeats laid out.
struct Opened {
  double begin_s, end_s;
  std::size_t row;
};

/// The first pairs of rows whose windows overlap, each told once, with the time at which they do.
template <class Tell>
void tell_overlaps(std::vector<Opened> windows, const Tell& tell) {
  std::stable_sort(windows.begin(), windows.end(),
                   [](const Opened& a, const Opened& b) { return a.begin_s < b.begin_s; });
  std::set<std::pair<std::size_t, std::size_t>> told;
  for (std::size_t i = 1; i < windows.size(); ++i) {
    const Opened &before = windows[i - 1], &after = windows[i];
    const double instant_s = 1e-9 * std::max(1.0, std::abs(after.begin_s));
    if (after.begin_s >= before.end_s - instant_s) continue;
    const auto rows = std::minmax(before.row, after.row);
    if (told.insert(rows).second) tell(rows.first, rows.second, after.begin_s);
    if (before.end_s > after.end_s) windows[i] = before;  // what is still open counts for the next one
  }
}

std::string seconds_text(double time_s) {
  char text[32];
  std::snprintf(text, sizeof text, "%.10g s", time_s);
  return text;
}

}  // namespace

/// Puts the rows of a campaign together.
class CampaignBuilder {
 public:
  explicit CampaignBuilder(std::optional<double> duration_s) : duration_s_(duration_s) {}

  std::vector<RequestRow> requests;
  std::vector<KeepOutRow> keep_out;

  /// Checks the rows; returns whether they are sound.
  bool check() {
    bool sound = true;
    const auto settle = [&](Row& row, double begin_s, double length_s, double& every_s, long& times) {
      sound = settle_repeats(row, begin_s, length_s, every_s, times) && sound;
    };
    for (RequestRow& row : requests) {
      settle(row, row.request.at_s, row.request.for_s, row.request.every_s, row.request.times);
      if (row.request.light_W.has_value() == row.request.drive.has_value()) {
        const bool both = row.request.light_W.has_value();
        row.refuse(both ? Code::key_conflict : Code::key_missing, both ? "drive" : "light",
                   both ? "'drive' and 'light' exclude each other" : "one of 'light' or 'drive' is missing");
        sound = false;
      }
    }
    for (KeepOutRow& row : keep_out) {
      if (row.window.to_s <= row.window.from_s) {
        row.refuse(Code::windows_backwards, "to", "the window runs backwards: it ends before it begins");
        sound = false;
        continue;
      }
      settle(row, row.window.from_s, row.window.to_s - row.window.from_s, row.window.every_s, row.window.times);
    }
    return sound && few_enough() && check_order() && check_overlaps() && check_kinds();
  }

  double end_of_requests_s() const {
    double end_s = 0.0;
    for (const RequestRow& row : requests) end_s = std::max(end_s, end_of(row.request));
    return end_s;
  }

  /// Tells of requests that a stated duration cuts.
  void tell_of_cuts() const {
    constexpr int most_told = 10;
    int told = 0;
    for (const RequestRow& row : requests) {
      if (!duration_s_ || end_of(row.request) <= *duration_s_ * (1.0 + 1e-12) || ++told > most_told) continue;
      const bool all = row.request.at_s >= *duration_s_;
      row.find(Code::request_beyond_run, "at",
               std::string(all ? "the request lies" : "the request reaches") + " beyond the end of the run at " +
                   seconds_text(*duration_s_) + (all ? "" : ": what lies beyond is not asked for"),
               Severity::warning);
    }
  }

 private:
  static double end_of(const Request& request) {
    return request.at_s + static_cast<double>(request.times - 1) * request.every_s + request.for_s;
  }

  /// Repeats and their number; windows of one row must not overlap.
  bool settle_repeats(Row& row, double begin_s, double length_s, double& every_s, long& times) const {
    if (!row.every_s) {
      if (row.times && *row.times > 1) row.refuse(Code::key_missing, "times", "'times' needs 'every' too");
      return !row.times || *row.times == 1;
    }
    every_s = *row.every_s;
    if (length_s > every_s * (1.0 + 1e-12)) {
      row.refuse(Code::pattern_contradicts, "every", "the window is open longer than until it opens again");
      return false;
    }
    if (!row.times && !duration_s_) {
      row.refuse(Code::key_missing, "every", "'times' or a stated `run.duration` must say how long it repeats");
      return false;
    }
    if (row.times) times = *row.times;
    const double until_end = duration_s_ ? std::ceil((*duration_s_ - begin_s) / every_s - 1e-9) : 0.0;
    if (!row.times) times = static_cast<long>(std::clamp(until_end, 1.0, 1e9));
    return true;
  }

  bool few_enough() const {
    std::set<std::string> names;
    std::size_t windows = 0;
    const auto within = [&](const Row& row, long times, const char* key) {
      windows += static_cast<std::size_t>(times);
      if (windows <= most_campaign_windows) return true;
      row.refuse(Code::count_out_of_bounds, key,
                 "more than " + std::to_string(most_campaign_windows) + " windows, repeats counted");
      return false;
    };
    for (const RequestRow& row : requests) {
      names.insert(row.request.name);
      if (names.size() > most_campaign_names) {
        row.refuse(Code::count_out_of_bounds, "name",
                   "more than " + std::to_string(most_campaign_names) + " different names ask for light");
        return false;
      }
      if (!within(row, row.request.times, "at")) return false;
    }
    return std::all_of(keep_out.begin(), keep_out.end(),
                       [&](const KeepOutRow& row) { return within(row, row.window.times, "from"); });
  }

  /// The rows of one name come in the order of time: a slip of the hour or the day shows.
  bool check_order() const {
    bool sound = true;
    std::map<std::string, const RequestRow*> last;
    for (const RequestRow& row : requests) {
      const RequestRow*& before = last[row.request.name];
      if (before != nullptr && row.request.at_s < before->request.at_s) {
        row.refuse(Code::windows_backwards, "at",
                   "the requests of '" + row.request.name + "' run backwards: this one begins before that of " +
                       before->where);
        sound = false;
      }
      before = &row;
    }
    const KeepOutRow* earlier = nullptr;
    for (const KeepOutRow& row : keep_out) {
      if (earlier != nullptr && row.window.from_s < earlier->window.from_s) {
        row.refuse(Code::windows_backwards, "from",
                   "the windows run backwards: this one begins before that of " + earlier->where);
        sound = false;
      }
      earlier = &row;
    }
    return sound;
  }

  bool check_overlaps() const {
    bool sound = true;
    std::map<std::string, std::vector<Opened>> by_name;
    for (std::size_t i = 0; i < requests.size(); ++i) {
      const Request& one = requests[i].request;
      for (long k = 0; k < one.times; ++k) {
        const double begin_s = one.at_s + static_cast<double>(k) * one.every_s;
        by_name[one.name].push_back({begin_s, begin_s + one.for_s, i});
      }
    }
    for (const auto& [name, windows] : by_name) {
      tell_overlaps(windows, [&, who = name](std::size_t first, std::size_t second, double at_s) {
        requests[second].refuse(Code::windows_overlap, "at",
                                "'" + who + "' asks twice at " + seconds_text(at_s) + ": the window overlaps that of " +
                                    requests[first].where);
        sound = false;
      });
    }
    std::vector<Opened> closed;
    for (std::size_t i = 0; i < keep_out.size(); ++i) {
      const KeepOut& one = keep_out[i].window;
      for (long k = 0; k < one.times; ++k) {
        const double shift_s = static_cast<double>(k) * one.every_s;
        closed.push_back({one.from_s + shift_s, one.to_s + shift_s, i});
      }
    }
    tell_overlaps(closed, [&](std::size_t first, std::size_t second, double at_s) {
      keep_out[second].refuse(Code::windows_overlap, "from",
                              "at " + seconds_text(at_s) + " the window overlaps that of " + keep_out[first].where);
      sound = false;
    });
    return sound;
  }

  /// Light and drive cannot be shared out against each other: what is open at once asks for one of them.
  bool check_kinds() const {
    const Timetable timetable(campaign(), never_s);
    std::set<std::size_t> told;
    for (double time_s = -1.0; time_s != never_s; time_s = timetable.next_edge_after(time_s)) {
      const auto open = timetable.open(timetable.piece_at(time_s));
      for (const std::size_t i : open) {
        const Occurrence& first = timetable.occurrences()[open.front()];
        const Occurrence& other = timetable.occurrences()[i];
        const RequestRow& row = requests[std::max(first.request, other.request)];
        const bool light = requests[first.request].request.light_W.has_value();
        if (requests[other.request].request.light_W.has_value() == light) continue;
        if (!told.insert(std::max(first.request, other.request)).second) continue;
        row.refuse(Code::key_conflict, row.request.light_W ? "light" : "drive",
                   "at " + seconds_text(time_s) + " one asks for light and another for drive (" +
                       requests[std::min(first.request, other.request)].where +
                       "): what is asked for at once must be the same");
      }
    }
    return told.empty();
  }

 public:
  Campaign campaign() const {
    Campaign made;
    for (const RequestRow& row : requests) made.requests.push_back(row.request);
    for (const KeepOutRow& row : keep_out) made.keep_out.push_back(row.window);
    return made;
  }

 private:
  std::optional<double> duration_s_;
};

namespace {

std::string row_text(std::size_t i) { return "row " + std::to_string(i + 1); }

/// Sets what the two kinds of row have in common from a table.
void read_repeats(const input::CsvTable& table, std::size_t i, std::vector<Diagnostic>& findings, Row& row) {
  row.every_s = cell(table, "every", i);
  if (const auto times = cell(table, "times", i)) row.times = static_cast<long>(*times);
  row.where = row_text(i);
  row.find = [&table, &findings, i](Code code, const std::string& key, const std::string& message, Severity severity) {
    if (findings.size() >= most_told) return;
    Diagnostic finding = table.finding(code, key, i, message);
    finding.severity = severity;
    findings.push_back(std::move(finding));
  };
}

void take_requests(const input::CsvTable& table, std::vector<Diagnostic>& findings, CampaignBuilder& builder) {
  for (std::size_t i = 0; i < table.rows(); ++i) {
    RequestRow& row = builder.requests.emplace_back();
    read_repeats(table, i, findings, row);
    row.request.name = table.names("name")[i];
    row.request.at_s = table.numbers("at")[i];
    row.request.for_s = table.numbers("for")[i];
    row.request.light_W = cell(table, "light", i);
    row.request.drive = cell(table, "drive", i);
    row.request.priority = static_cast<long>(cell(table, "priority", i).value_or(0.0));
  }
}

void take_keep_out(const input::CsvTable& table, std::vector<Diagnostic>& findings, CampaignBuilder& builder) {
  for (std::size_t i = 0; i < table.rows(); ++i) {
    KeepOutRow& row = builder.keep_out.emplace_back();
    read_repeats(table, i, findings, row);
    row.window.from_s = table.numbers("from")[i];
    row.window.to_s = table.numbers("to")[i];
  }
}

/// From the lists of the case; `finder` makes the Find of an entry.
template <class Finder>
void take_lists(const input::Record& record, const Finder& finder, CampaignBuilder& builder) {
  const auto read_repeats_of = [&](const input::Record& entry, Row& row) {
    row.find = finder(entry);
    row.where = "line " + std::to_string(entry.place().line);
    row.every_s = entry.quantity_if("every");
    if (entry.has("times")) row.times = entry.count("times");
  };
  for (const input::Record& entry : record.list("requests")) {
    RequestRow& row = builder.requests.emplace_back();
    read_repeats_of(entry, row);
    row.request.name = entry.text("name");
    row.request.at_s = entry.quantity("at");
    row.request.for_s = entry.quantity("for");
    row.request.light_W = entry.quantity_if("light");
    row.request.drive = entry.quantity_if("drive");
    row.request.priority = entry.count("priority");
  }
  for (const input::Record& entry : record.list("keep_out")) {
    KeepOutRow& row = builder.keep_out.emplace_back();
    read_repeats_of(entry, row);
    row.window.from_s = entry.quantity("from");
    row.window.to_s = entry.quantity("to");
  }
}

}  // namespace

void CaseBuilder::build_campaign() {
  if (!record_.has("campaign")) return;
  const Record& record = record_.section("campaign");
  const Record& run = record_.section("run");
  const std::optional<double> stated_s =
      run.stated("duration") ? std::optional(run.quantity("duration")) : std::nullopt;
  CampaignBuilder builder(stated_s);
  const auto finder = [this](const Record& row) {
    return [this, &row](Code code, const std::string& key, const std::string& message, Severity severity) {
      if (findings_.size() < most_told) find(code, row.has(key) ? row.place(key) : row.place(), message, {}, severity);
    };
  };
  take_lists(record, finder, builder);
  const std::size_t before = findings_.size();
  const auto table_of = [&](const char* key, const std::vector<CsvColumn>& columns) {
    return record.has(key) ? input::read_csv_beside(document_, record.place(key), record.text(key), columns, findings_)
                           : input::CsvTable{};
  };
  const input::CsvTable requests = table_of("file", request_columns());
  const input::CsvTable keep_out = table_of("keep_out_file", keep_out_columns());
  if (findings_.size() > before) return;
  take_requests(requests, findings_, builder);
  take_keep_out(keep_out, findings_, builder);
  if (record_.by_name("lasers").empty())
    find(Code::key_missing, record.place(), "a campaign needs `lasers`, which give the light");
  if (builder.requests.empty())
    find(Code::count_out_of_bounds, record.place(), "a campaign needs at least one request");
  if (!builder.check()) return;
  builder.tell_of_cuts();
  Campaign campaign = builder.campaign();
  campaign.needed_light_W = record.quantity_if("needed_light");
  if (!stated_s && builder.end_of_requests_s() > run.quantity("duration")) {
    case_.run.duration_s = builder.end_of_requests_s();
    campaign.to_its_end = true;
  }
  case_.campaign = std::move(campaign);
  if (!case_.beam) case_.beam = Beam{};
  if (!record_.has("beam")) return;
  const Record& beam = record_.section("beam");
  for (const char* key : {"light", "on", "every"}) {
    if (!beam.has(key)) continue;
    find(Code::key_conflict, beam.place(key),
         std::string("'") + key + "' says when or how bright the beam is, and so does `campaign`",
         "with a campaign `beam` holds `drive` alone, the most that is given");
  }
}

}  // namespace tileflux::tile
