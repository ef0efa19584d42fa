#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/text.h"
#include "tileflux/base/cautions.h"

namespace tileflux::cli {

namespace {

using studies::Comparison;
using Output = studies::ComparedOutput;

constexpr std::size_t line_width = 110;

std::string shortened(const std::string& text, std::size_t most) {
  if (width_of(text) <= most) return text;
  std::size_t end = most - 3;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0u) == 0x80u) --end;
  return text.substr(0, end) + "...";
}

/// A change with its sign and three digits.
std::string change_text(double value) {
  const double size = std::abs(value);
  if (size == 0.0) return "-";
  if (size >= 1e5 || size < 1e-4) return fmt::format("{:+.1e}", value);
  return fmt::format("{:+.{}f}", value, size >= 100.0 ? 1 : size >= 1.0 ? 2 : size >= 0.1 ? 3 : 4);
}

std::string state_words(const studies::StateMargin& limit) {
  return describe(limit.margin) + (limit.beam ? " with the beam on" : " with the beam off");
}

bool same_binding(const Comparison& result) {
  const auto &a = result.a.binding, &b = result.b.binding;
  return a && b && a->beam == b->beam && studies::same_limit(a->margin, b->margin);
}

std::string_view regime_of(const studies::ComparedSide& side) {
  const studies::Balance& balance = side.balance;
  return studies::name_of((balance.beam_on ? *balance.beam_on : balance.beam_off).regime);
}

/// By what most of an output's change came, if anything went its way.
std::string most_of_it(const Compared& compared, std::size_t output, const char* unit) {
  const double change = compared.result.outputs[output].change();
  std::vector<std::size_t> order = compared.result.ranked(output);
  std::erase_if(order, [&](std::size_t i) { return compared.result.parts[i].change[output] * change <= 0.0; });
  if (order.empty()) return "";
  const studies::ComparedPart& part = compared.result.parts[order.front()];
  const double share = part.change[output] / change;
  const char* words = compared.result.parts.size() == 1 ? "by" : share > 0.5 ? "most of it by" : "the largest part by";
  return fmt::format(", {} {} ({} {})", words, compared.name_of(part), change_text(part.change[output]), unit);
}

/// The one sentence that says what happened.
std::string sentence(const Compared& compared) {
  const Comparison& result = compared.result;
  if (compared.differences() == 0) {
    return "Nothing that the tile or its surroundings are differs: both are the same tile.";
  }
  std::string text;
  const auto light = result.light();
  const auto margin = result.a.binding ? result.margin(*result.a.binding) : std::nullopt;
  if (light) {
    const Output& output = result.outputs[*light];
    if (std::abs(output.change()) < 0.005)
      text = fmt::format("B gives as much usable light as A, {} W", watts(output.a));
    else
      text = fmt::format("B gives {} W {} usable light ({} -> {} W){}", watts(std::abs(output.change())),
                         output.change() > 0.0 ? "more" : "less", watts(output.a), watts(output.b),
                         most_of_it(compared, *light, "W"));
  } else if (margin) {
    const Output& output = result.outputs[*margin];
    const std::string of =
        output.limit->where() + (output.limit->upper ? " to its upper limit" : " to its lower limit");
    if (std::abs(output.change()) < 0.005)
      text = "In B the margin of " + of + " is that of A";
    else
      text =
          fmt::format("B has {} {} {} margin of {}{}", change_text(std::abs(output.change())).substr(1), output.unit,
                      output.change() > 0.0 ? "more" : "less", of, most_of_it(compared, *margin, output.unit.c_str()));
  } else {
    std::size_t most = 0;
    for (std::size_t k = 0; k < result.outputs.size(); ++k) {
      if (std::abs(result.outputs[k].change()) > std::abs(result.outputs[most].change())) most = k;
    }
    if (result.outputs.empty()) return "The cases have no part in common.";
    const Output& output = result.outputs[most];
    text = std::abs(output.change()) < 0.005
               ? "Every common part is as warm in B as in A"
               : fmt::format("What changes most is {}: {} K{}", output.node, change_text(output.change()),
                             most_of_it(compared, most, "K"));
  }
  if (regime_of(result.a) != regime_of(result.b))
    text += fmt::format("; the regime changes from {} to {}", regime_of(result.a), regime_of(result.b));
  if (!result.a.binding || !result.b.binding) return text + ".";
  if (same_binding(result)) return text + "; the limit that binds stays " + state_words(*result.b.binding) + ".";
  return text + "; the limit that binds changes from " + state_words(*result.a.binding) + " to " +
         state_words(*result.b.binding) + ".";
}

std::string names_line(const std::string& head, const std::vector<std::string>& names) {
  if (names.empty()) return "";
  std::string text = head;
  for (std::size_t i = 0; i < names.size(); ++i) text += (i == 0 ? " " : ", ") + names[i];
  return wrapped(text, 2);
}

std::string differences(const Compared& compared) {
  const auto& all = compared.cases.differences();
  constexpr std::size_t widest_path = 44, widest_text = 26;
  Table table({"input", "A", "B"}), asked({"besides", "A", "B"});
  for (const tile::CaseDifference& one : all) {
    (one.of_a_study ? asked : table)
        .row({shortened(one.path, widest_path), one.a_text.empty() ? "-" : shortened(one.a_text, widest_text),
              one.b_text.empty() ? "-" : shortened(one.b_text, widest_text)});
  }
  std::string text = "\nWhat differs\n";
  if (compared.differences() > 0) text += table.text({0, 1, 2});
  if (compared.differences() < all.size())
    text += asked.text({0, 1, 2}) + "  titles, and what is asked of studies, have no part in what follows\n";
  if (all.empty()) text += "  nothing\n";
  text += names_line("Library properties that only A uses:", compared.cases.only_a_uses());
  text += names_line("Library properties that only B uses:", compared.cases.only_b_uses());
  text += names_line("Parts that only A has:", compared.result.only_in_a);
  text += names_line("Parts that only B has:", compared.result.only_in_b);
  return text;
}

std::string binding_cell(const studies::ComparedSide& side) {
  if (!side.binding) return "no limit";
  return side.binding->margin.where() + (side.binding->beam ? ", on" : ", off");
}

std::string answers(const Comparison& result) {
  Table table({"answer", "A", "B", "change"});
  for (const Output& output : result.outputs) {
    if (output.kind == Output::Kind::light)
      table.row({"usable light, W", watts(output.a), watts(output.b), change_text(output.change())});
    if (output.kind == Output::Kind::rating)
      table.row({"continuous rating, %", fmt::format("{:.2f}", 100.0 * output.a),
                 fmt::format("{:.2f}", 100.0 * output.b), change_text(100.0 * output.change())});
  }
  const auto pair = [](const std::optional<double>& a, const std::optional<double>& b, double scale, const char* name) {
    std::vector<std::string> cells{name};
    for (const auto& one : {a, b}) cells.push_back(one ? fmt::format("{:.2f}", scale * *one) : "-");
    cells.push_back(a && b ? change_text(scale * (*b - *a)) : "");
    return cells;
  };
  if (result.a.duty || result.b.duty) table.row(pair(result.a.duty, result.b.duty, 100.0, "sustainable duty, %"));
  if (result.a.duty_light_W || result.b.duty_light_W)
    table.row(pair(result.a.duty_light_W, result.b.duty_light_W, 1.0, "mean light at that duty, W"));
  table.row({"regime", std::string(regime_of(result.a)), std::string(regime_of(result.b)), ""});
  table.row({"binding limit", binding_cell(result.a), binding_cell(result.b), ""});
  std::string text = "\nAnswers\n" + table.text();
  if (!result.a.duty_note.empty()) text += wrapped("A has no sustainable duty: " + result.a.duty_note, 2);
  if (!result.b.duty_note.empty()) text += wrapped("B has no sustainable duty: " + result.b.duty_note, 2);
  return text;
}

/// Rows of one kind of output, beam off and beam on beside each other.
std::string states_table(const Comparison& result, Output::Kind kind, const std::string& head) {
  const bool beam =
      std::any_of(result.outputs.begin(), result.outputs.end(), [&](const Output& one) { return one.beam; });
  std::vector<std::string> heads{head, "off A", "off B", "change"};
  if (beam) heads.insert(heads.end(), {"on A", "on B", "change"});
  Table table(heads);
  bool any = false;
  const auto cells = [&](const Output& one) -> std::vector<std::string> {
    const double change = std::abs(one.change()) < 0.005 ? 0.0 : one.change();
    if (kind == Output::Kind::temperature) return {celsius(one.a), celsius(one.b), change_text(change)};
    const studies::LimitKind of = one.limit->kind;
    return {amount_text(of, one.a, true), amount_text(of, one.b, true), amount_text(of, one.change(), true)};
  };
  for (const Output& off : result.outputs) {
    if (off.kind != kind || off.beam) continue;
    any = true;
    std::string name = off.node;
    if (off.limit) {
      name = off.limit->where();
      if (off.limit->kind == studies::LimitKind::temperature)
        name += off.limit->upper ? " below" : " above";
      else
        name = std::string(studies::name_of(off.limit->kind)) + " of " + name;
    }
    std::vector<std::string> row{shortened(name, 32)};
    for (const std::string& cell : cells(off)) row.push_back(cell);
    const auto on = std::find_if(result.outputs.begin(), result.outputs.end(), [&](const Output& one) {
      return one.kind == kind && one.beam && one.node == off.node &&
             (!off.limit || studies::same_limit(*one.limit, *off.limit));
    });
    if (on != result.outputs.end()) {
      for (const std::string& cell : cells(*on)) row.push_back(cell);
    }
    table.row(std::move(row));
  }
  return any ? table.text() : "";
}

struct ChangeColumn {
  std::size_t output;
  std::string head, legend;
  double scale;
};

/// The outputs that contributions are told of: light, rating, what binds in A and in B, what else changed most.
std::vector<ChangeColumn> change_columns(const Comparison& result) {
  std::vector<ChangeColumn> columns;
  const auto add = [&](std::size_t k) {
    if (std::any_of(columns.begin(), columns.end(), [&](const ChangeColumn& one) { return one.output == k; })) return;
    const Output& output = result.outputs[k];
    const std::string state = output.beam ? ", beam on" : ", beam off";
    const std::string mark = fmt::format(
        "[{}]",
        std::count_if(columns.begin(), columns.end(), [](const ChangeColumn& one) { return !one.legend.empty(); }) + 1);
    switch (output.kind) {
      case Output::Kind::light:
        return columns.push_back({k, "light, W", "", 1.0});
      case Output::Kind::rating:
        return columns.push_back({k, "rating, %", "", 100.0});
      case Output::Kind::temperature:
        return columns.push_back({k, mark + " K", mark + " temperature of " + output.node + state, 1.0});
      case Output::Kind::margin:
        return columns.push_back({k, mark + ' ' + output.unit,
                                  mark + " margin of " + output.limit->where() +
                                      (output.limit->upper ? " below its limit" : " above its limit") + state,
                                  1.0});
    }
  };
  for (std::size_t k = 0; k < result.outputs.size(); ++k) {
    const Output::Kind kind = result.outputs[k].kind;
    if ((kind == Output::Kind::light || kind == Output::Kind::rating) && result.outputs[k].change() != 0.0) add(k);
  }
  for (const auto* side : {&result.a, &result.b}) {
    const auto place = side->binding ? result.margin(*side->binding) : std::nullopt;
    if (place) add(*place);
  }
  std::vector<std::size_t> warmest;
  for (std::size_t k = 0; k < result.outputs.size(); ++k) {
    if (result.outputs[k].kind == Output::Kind::temperature) warmest.push_back(k);
  }
  std::stable_sort(warmest.begin(), warmest.end(), [&](std::size_t one, std::size_t other) {
    return std::abs(result.outputs[one].change()) > std::abs(result.outputs[other].change());
  });
  // Parts that go with one another, such as the layers of a stack, would say the same twice.
  constexpr std::size_t most_columns = 5;
  constexpr double alike = 0.05;
  double last = 0.0;
  for (std::size_t i = 0, told = 0; i < warmest.size() && told < 2 && columns.size() < most_columns; ++i) {
    const double change = result.outputs[warmest[i]].change();
    if (change == 0.0 || (told > 0 && std::abs(change - last) < alike * std::abs(last))) continue;
    add(warmest[i]);
    last = change;
    ++told;
  }
  return columns;
}

/// Inputs that moved any of the columns, those that moved the first one most in front.
std::vector<std::size_t> rows_of(const Comparison& result, const std::vector<ChangeColumn>& columns) {
  std::vector<std::size_t> rows;
  for (const ChangeColumn& column : columns) {
    for (const std::size_t i : result.ranked(column.output)) {
      if (std::find(rows.begin(), rows.end(), i) == rows.end()) rows.push_back(i);
    }
  }
  return rows;
}

std::string spreads(const Compared& compared, const std::vector<ChangeColumn>& columns,
                    const std::vector<std::size_t>& rows) {
  std::string text;
  constexpr double told = 0.1;  // of the change: below it the order hardly matters
  for (const std::size_t i : rows) {
    const studies::ComparedPart& part = compared.result.parts[i];
    std::string of;
    for (const ChangeColumn& column : columns) {
      const double least = part.least[column.output], most = part.most[column.output];
      if (most - least <= told * std::abs(part.change[column.output])) continue;
      const auto bound = [&](double value) { return value == 0.0 ? "0" : change_text(column.scale * value); };
      of += fmt::format("{} {} {} to {}", of.empty() ? "" : ",", column.head, bound(least), bound(most));
    }
    if (!of.empty()) text += wrapped(compared.name_of(part) + ", by the order in which things change:" + of, 2);
  }
  return text;
}

std::string notes(const Compared& compared, const std::vector<std::size_t>& rows) {
  const Comparison& result = compared.result;
  std::string text;
  for (const std::size_t i : rows) {
    const studies::ComparedPart& part = result.parts[i];
    if (part.inputs.size() < 2) continue;
    std::string names;
    for (const std::size_t k : part.inputs) names += (names.empty() ? "" : ", ") + compared.cases.differences()[k].path;
    text += wrapped("Together: " + names + " (" + part.why_together + ")", 2);
  }
  for (const studies::ComparedCorner& one : result.corners) {
    text += wrapped(fmt::format("Corner at {:.1f} % of the way{}: {} -> {}", 100.0 * one.at,
                                one.with_steps ? ", steps taken" : "", one.from, one.to),
                    2);
  }
  std::vector<std::string> idle;
  for (std::size_t i = 0; i < result.parts.size(); ++i) {
    const auto& change = result.parts[i].change;
    if (std::all_of(change.begin(), change.end(), [](double one) { return one == 0.0; }))
      idle.push_back(compared.name_of(result.parts[i]));
  }
  return text + names_line("Without effect on any of these:", idle);
}

std::string contributions(const Compared& compared, std::size_t most) {
  const Comparison& result = compared.result;
  if (!result.why_no_parts.empty()) return "\n" + wrapped("What moved what cannot be told: " + result.why_no_parts, 2);
  if (result.parts.empty()) return "";
  const std::vector<ChangeColumn> columns = change_columns(result);
  const std::vector<std::size_t> rows = rows_of(result, columns);
  std::vector<std::string> heads{"input"};
  for (const ChangeColumn& column : columns) heads.push_back(column.head);
  Table table(heads);
  const auto row = [&](const std::string& name, const auto& change) {
    std::vector<std::string> cells{name};
    for (const ChangeColumn& column : columns) {
      const double value = column.scale * change(column.output);
      cells.push_back(change_text(std::abs(value) < 5e-5 ? 0.0 : value));
    }
    table.row(std::move(cells));
  };
  constexpr std::size_t widest = 46;
  for (std::size_t i = 0; i < std::min(rows.size(), most); ++i) {
    const studies::ComparedPart& part = result.parts[rows[i]];
    const std::string name = shortened(compared.name_of(part), widest) + (part.in_one_step ? " (step)" : "");
    row(name, [&](std::size_t k) { return part.change[k]; });
  }
  if (rows.size() > most) {
    row(fmt::format("{} more: --top {}", rows.size() - most, rows.size()), [&](std::size_t k) {
      double sum = 0.0;
      for (std::size_t i = most; i < rows.size(); ++i) sum += result.parts[rows[i]].change[k];
      return sum;
    });
  }
  row("corners on the way", [&](std::size_t k) { return result.at_corners[k]; });
  row("together: B - A", [&](std::size_t k) { return result.outputs[k].change(); });
  std::string text = "\nWhich input moved which answer\n" + table.text();
  for (const ChangeColumn& column : columns) {
    if (!column.legend.empty()) text += "  " + column.legend + '\n';
  }
  return text + spreads(compared, columns, rows) + notes(compared, rows);
}

}  // namespace

std::string print_compare(const Compared& compared, std::size_t most) {
  const Comparison& result = compared.result;
  const tile::CaseFile &a = compared.cases.a().as_written(), &b = compared.cases.b().as_written();
  std::string text =
      fmt::format("A  {}\n   {}\nB  {}\n   {}\n\n", a.description.title, a.file, b.description.title, b.file);
  text += wrapped(sentence(compared), 2) + differences(compared) + answers(result);
  if (const std::string table = states_table(result, Output::Kind::temperature, "temperature, degC"); !table.empty())
    text += "\nTemperatures of common parts\n" + table;
  if (const std::string table = states_table(result, Output::Kind::margin, "limit on"); !table.empty())
    text += "\nMargins of common limits\n" + table;
  text += contributions(compared, most);
  std::string warnings;
  for (const auto& [name, side, file] : {std::tuple("A", &result.a, &a), std::tuple("B", &result.b, &b)}) {
    for (const auto* list : {&file->warnings, &side->balance.warnings}) {
      for (const Diagnostic& one : *list) warnings += fmt::format("  {}: {}\n", name, tileflux::describe(one));
    }
  }
  if (!warnings.empty()) text += "\nWarnings\n" + warnings;
  return text + '\n' + std::string(short_caution()) + '\n';
}

}  // namespace tileflux::cli
