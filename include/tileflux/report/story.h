#pragma once
/// What result files say, told for people and free of any medium: the page of `report` and the terminal of `show` both
/// draw a Story. Every number of a chart also stands in a table of the same section, so nothing depends on a picture.

#include <optional>
#include <string>
#include <variant>
#include <vector>

namespace tileflux::report {

/// One column of a table. Numbers of a column share their unit and their decimals.
struct Column {
  std::string name;
  std::string unit;    ///< as printed, "W", "degC"; empty: none, or text
  int decimals = 2;    ///< digits after the point; a negative count asks for that many significant digits
  bool number = true;  ///< aligned to the right
};

/// A cell: nothing, a number in the unit of its column, or text.
using Cell = std::variant<std::monostate, double, std::string>;

struct Table {
  std::string caption;
  std::vector<Column> columns;
  std::vector<std::vector<Cell>> rows;  ///< each as long as columns
  std::string left_out;                 ///< what was thinned, in a sentence; empty: nothing was
};

/// Power from one station to another. Stations are named; the graph has no cycle. All of what enters a station between
/// the first and the last leaves it again.
struct FlowChart {
  struct Link {
    std::string from;
    std::string to;
    double power_W = 0.0;  ///< > 0
  };
  enum class End { sunlight, through, electricity, light, heat, space };
  struct Station {
    std::string name;
    End kind = End::through;
  };
  std::vector<Station> stations;  ///< in the order of the flow
  std::vector<Link> links;
  double whole_W = 0.0;  ///< what 100 % is
};

/// How far values are from their limits: one bar each.
struct MarginChart {
  struct Bar {
    std::string name;
    std::string unit;
    double value = 0.0;
    double limit = 0.0;
    bool upper = true;      ///< the value is to stay below the limit
    double margin = 0.0;    ///< > 0: met
    double reserved = 0.0;  ///< part of the distance that a policy takes, >= 0
  };
  std::vector<Bar> bars;  ///< least margin first
};

/// Values over one quantity: time, a period, a swept input.
struct LineChart {
  struct Line {
    std::string name;
    std::string group;           ///< lines of a group are chosen together ("junctions"); empty: on its own
    std::string unit;            ///< lines of different units are drawn in panels of their own
    std::vector<double> values;  ///< one for each x; NaN: a gap
    bool shown = true;           ///< at first
    bool steps = false;          ///< holds until the next x
  };
  struct Level {  ///< a limit
    std::string name;
    std::string unit;
    double value = 0.0;
    std::string of;  ///< name of the line that it limits; shown with it; empty: always
  };
  struct Band {  ///< an eclipse, a regime
    std::string name;
    double begin = 0.0;
    double end = 0.0;
    std::string kind;  ///< bands of one kind look alike
  };
  struct Mark {  ///< an event, a crossing
    std::string name;
    double at = 0.0;
    std::string kind;
  };
  std::string x_name;
  std::string x_unit;  ///< "s": time, labelled in hours or days where that reads better
  bool x_logarithmic = false;
  std::vector<double> x;  ///< ascending
  std::vector<Line> lines;
  std::vector<Level> levels;
  std::vector<Band> bands;
  std::vector<Mark> marks;
};

/// One output over two inputs.
struct HeatMap {
  std::string x_name, x_unit, y_name, y_unit, name, unit;
  std::vector<double> x, y;
  std::vector<double> values;  ///< values[i_y * x.size() + i_x]; NaN: no answer
};

/// What a little more of each input does: signed bars, largest first.
struct RankChart {
  struct Bar {
    std::string name;
    double value = 0.0;
    std::string group;  ///< bars of a group share a colour ("cells", "radiator")
  };
  std::string quantity;
  std::string unit;
  std::vector<Bar> bars;
};

/// The tile as a section from the sunlit face to the rear, and what hangs beside it. Not to scale.
struct SectionChart {
  struct Part {
    std::string name;
    enum class Role { layer, bench, fin, device } role = Role::layer;
    double temperature_K = 0.0;
    double thickness_m = 0.0;        ///< 0: unknown
    std::optional<double> margin_K;  ///< least margin of its limits
  };
  std::vector<Part> parts;  ///< layers from the Sun downwards, then the others
  double sunlight_W = 0.0;
  double light_W = 0.0;
  std::vector<FlowChart::Link> leaving;  ///< infrared by surface
};

using Chart = std::variant<FlowChart, MarginChart, LineChart, HeatMap, RankChart, SectionChart>;

/// One heading: a sentence, a chart where one helps, and the same numbers as tables.
struct Section {
  std::string id;  ///< unique in the story; letters, digits, '-'
  std::string title;
  std::string says;  ///< one or two sentences: what to see here
  std::optional<Chart> chart;
  std::vector<Table> tables;
  std::string of = {};  ///< the result that it tells of, where a story tells of several
};

/// Where it all comes from.
struct Provenance {
  struct Input {
    std::string name;  ///< of the result
    std::string case_file;
    std::string text;    ///< of the case file as read
    std::string sha256;  ///< of that text
  };
  struct Source {
    std::string value;   ///< path and value
    std::string source;  ///< in full
    std::string basis;   ///< published, common practice, memory, ...
  };
  std::string version;
  std::vector<Input> inputs;
  std::vector<Source> sources;
  std::vector<Table> numbers;  ///< tolerances, ledger residuals, counts
};

/// The answer of one result, or of several side by side.
struct Story {
  std::string title;
  std::string question;           ///< "How hot does it run, and how much light is usable?"
  std::string answer;             ///< one sentence with the number
  std::vector<std::string> also;  ///< answers of the other results, each begins with its name
  bool met = true;                ///< whether every limit is met
  std::string limits;             ///< that in words, where yes or no says too little; empty: `met` says it
  std::string binds;              ///< what limits, and what comes next
  std::vector<std::string> next;  ///< what to do: at most a handful of sentences
  std::vector<Section> sections;
  std::vector<std::string> warnings;
  std::vector<std::string> cautions;
  Provenance provenance;
};

}  // namespace tileflux::report
