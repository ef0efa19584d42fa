#include "verification/book.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "verification/groups.h"
#include "verification/rows.h"

namespace tileflux::verification {

Reproductions all_reproductions() {
  Reproductions all;
  for (const auto& group : {sun_test::sunlight,
                            sun_test::plates_in_the_sun,
                            sun_test::spheres,
                            sun_test::selective_surfaces,
                            lumps_test::cooling_by_radiation,
                            lumps_test::lumps_in_air,
                            lumps_test::panel_in_an_oven,
                            lumps_test::steady_chains,
                            lumps_test::orbit_node,
                            ladders_test::two_nodes,
                            ladders_test::ladders,
                            ladders_test::wavy_sink,
                            walls_test::plane_walls,
                            walls_test::cylinders,
                            walls_test::spheres_that_cool,
                            walls_test::fixed_faces,
                            thick_bodies_test::thick_bodies,
                            thick_bodies_test::error_function,
                            thick_bodies_test::radiating_slab,
                            enclosures_test::black_enclosures,
                            enclosures_test::grey_enclosures,
                            enclosures_test::shields,
                            enclosures_test::cryogenic_lines,
                            view_factors_test::rectangle_factors,
                            view_factors_test::round_factors,
                            view_factors_test::strip_factors,
                            orbits_test::planet_factors,
                            orbits_test::planet_fluxes,
                            orbits_test::orbits,
                            orbits_test::sun_and_orbit,
                            orbits_test::eclipses,
                            spectra_test::spectra,
                            fins_test::fins_at_zero,
                            fins_test::fins_in_surroundings,
                            fins_test::worked_fins,
                            cells_and_lasers_test::cell_laws,
                            cells_and_lasers_test::arrays_in_the_sun,
                            cells_and_lasers_test::diode_laws,
                            cells_and_lasers_test::converters,
                            devices_test::batteries,
                            devices_test::amplifiers,
                            devices_test::ageing,
                            devices_test::cell_curves,
                            stiff_test::stiff_problems,
                            stiff_test::transistor_amplifier,
                            library_test::solids_library,
                            library_test::surfaces_library,
                            library_test::media_library,
                            melting_test::melting_fronts,
                            melting_test::melting_lumps,
                            heat_pipes_test::heat_pipe_limits,
                            margins_test::margin_policies}) {
    all = std::move(all) + group();
  }
  return all;
}

ClosedForms all_closed_forms() {
  ClosedForms all;
  const auto add = [&all](const char* prefix, const ClosedForms& forms) {
    int number = 0;
    for (const ClosedForm& form : forms) {
      all.push_back(form);
      all.back().id = fmt::format("{}-{:02}", prefix, ++number);
    }
  };
  add("TILE", tile_test::tile_references());
  add("DUTY", duty_test::duty_references());
  add("MELT", melting_test::melting_references());
  add("SIZE", radiator_test::sized_radiators());
  add("SWEEP", sweep_test::sweeps());
  add("MARGIN", margins_test::margin_references());
  return all;
}

Convergences all_convergences() {
  Convergences all;
  for (const auto& group : {walls_test::slices_of_layers, thick_bodies_test::slices_of_a_radiating_slab, fins_test::segments_of_fins,
                            melting_test::slices_of_stores, lumps_test::tolerances_in_time}) {
    const Convergences more = group();
    all.insert(all.end(), more.begin(), more.end());
  }
  return all;
}

Controls all_controls() {
  Controls all;
  for (const auto& group : {path_controls_test::controls, device_controls_test::controls, study_controls_test::controls, sky_controls_test::controls}) {
    const Controls more = group();
    all.insert(all.end(), more.begin(), more.end());
  }
  return all;
}

Findings all_findings() { return {all_reproductions(), all_closed_forms(), all_convergences(), all_controls()}; }

const std::map<std::string, std::string>& reasons() {
  static const std::map<std::string, std::string> read = [] {
    const std::string name = TILEFLUX_PROJECT_DIR "/tests/verification/data/not_reproduced.csv";
    std::ifstream file(name);
    if (!file) throw std::runtime_error(name + " cannot be read");
    std::map<std::string, std::string> map;
    std::string line;
    std::getline(file, line);
    while (std::getline(file, line)) {
      const std::size_t comma = line.find(',');
      if (!map.emplace(line.substr(0, comma), line.substr(comma + 1)).second)
        throw std::runtime_error(line + " is listed twice");
    }
    return map;
  }();
  return read;
}

namespace {

struct Group {
  const char *prefix, *title;
};
constexpr Group groups[] = {{"ENV", "Sun, planets, bodies in the sun"},
                            {"VF", "View factors and enclosures"},
                            {"TR", "Conduction and transients"},
                            {"FIN", "Radiating fins"},
                            {"PCM", "Phase change"},
                            {"MAT", "Solids"},
                            {"OPT", "Surface finishes"},
                            {"PV", "Cells"},
                            {"LAS", "Lasers, conditioning, batteries"},
                            {"HP", "Heat pipes"},
                            {"MRG", "Margins"},
                            {"NUM", "Stiff problems"}};

bool is_of(const Row& row, const Group& group) { return row.id.rfind(std::string(group.prefix) + '-', 0) == 0; }

/// Text as Markdown shows it; addresses become links.
std::string shown(const std::string& text) {
  std::istringstream words(text);
  std::string out, word;
  while (words >> word) {
    if (!out.empty()) out += ' ';
    const std::size_t address = word.find("http");
    if (address != std::string::npos) {
      std::size_t end = word.size();
      while (end > 0 && std::string(",;)").find(word[end - 1]) != std::string::npos) --end;
      out += word.substr(0, address) + '<' + word.substr(address, end - address) + '>' + word.substr(end);
      continue;
    }
    for (const char c : word) {
      if (c == '*' || c == '_' || c == '~') out += '\\';
      out += c == '<' ? "&lt;" : std::string(1, c);
    }
  }
  return out;
}

/// The least accuracy worth telling: below it, what is left is round-off, which differs from machine to machine.
constexpr double least_told = 1e-12;

/// Errors below this are told as a power of ten: solvers differ by more than a digit there.
constexpr double told_in_digits = 1e-6;

std::string bound(double error, double in_digits = told_in_digits) {
  const double told = std::max(error, least_told);
  const int exponent = static_cast<int>(std::ceil(std::log10(told) - 1e-9));
  if (told < in_digits) return fmt::format("≤ 1e{}", exponent);
  const double last_digit = std::pow(10.0, exponent - 2);
  return fmt::format("≤ {:.2g}", last_digit * std::ceil(told / last_digit - 1e-9));
}

/// Relative; absolute where zero is expected. Of several numbers the tightest one.
double relative_tolerance(const Row& row) {
  const std::vector<double> expected = row.values();
  double least = HUGE_VAL;
  for (std::size_t i = 0; i < expected.size(); ++i) {
    const double absolute = tolerance_of(row, i);
    least = std::min(least, expected[i] == 0.0 ? absolute : absolute / std::abs(expected[i]));
  }
  return least;
}

/// Numbers the sources as they come up.
class Sources {
 public:
  std::string number(const std::string& source) {
    const auto [place, added] = number_.emplace(source, number_.size() + 1);
    if (added) in_order_.push_back(source);
    return fmt::format("S{}", place->second);
  }
  const std::vector<std::string>& in_order() const { return in_order_; }

 private:
  std::map<std::string, std::size_t> number_;
  std::vector<std::string> in_order_;
};

std::string what(const Row& row) { return shown(row.inputs.empty() ? row.quantity : row.quantity + "; " + row.inputs); }

std::string value_with_unit(const std::string& value, const std::string& unit) {
  return unit == "-" ? value : value + ' ' + unit;
}

constexpr const char* head = R"(# Verification

<!-- Made by the test program `verification` (tests/verification). To make it anew: build that target, run its test
     Book.AccountsForEveryRowOnceAndIsTheCommittedPage, and copy verification.md from the build directory over docs/verification.md. The same test fails while
     the two differ. -->

What the product gives for published and independently computed values: worked examples of textbooks, closed forms, reference solutions
of stiff problems, values of materials. Each row below is a test in `tests/verification`; the rows are in
`tests/verification/data/published_rows.csv` with their sources. A row counts as reproduced only if the product computed the number: a
case run through `balance`, `run` or a duty study, one of its laws, its solver, its units or its materials library. A row that is not
reproduced is listed with the reason.

*Error* and *tolerance* are relative to the expected value (absolute where that is 0). The error is rounded up to two digits, below 1e-6 to a power of
ten; differences below 1e-12 are round-off. Tolerances: of a value computed to eight digits 1e-7, or what the row states; of a printed value half a unit of its
last digit, or the row's own tolerance where the print was rounded on the way. Where a source uses other constants (sigma = 5.67e-8, 0 degC = 273 K), emitting
areas carry the ratio of the two values of sigma and the note says so. Convection in textbook examples is a conductance to a part at fixed temperature.

Contents: counts · closed forms and ODE references · order of convergence · negative controls · the rows by group · sources
)";

std::string counts(const std::map<std::string, const Reproduction*>& got) {
  std::string text = "\n## Counts\n\n| group | rows | reproduced | not |\n| --- | --- | --- | --- |\n";
  std::size_t all_rows = 0, all_reproduced = 0;
  for (const Group& group : groups) {
    std::size_t rows = 0, reproduced = 0;
    for (const Row& row : published_rows()) {
      if (!is_of(row, group)) continue;
      ++rows;
      reproduced += got.count(row.id);
    }
    text += fmt::format("| {} {} | {} | {} | {} |\n", group.prefix, group.title, rows, reproduced, rows - reproduced);
    all_rows += rows;
    all_reproduced += reproduced;
  }
  return text + fmt::format("| all | {} | {} | {} |\n", all_rows, all_reproduced, all_rows - all_reproduced);
}

/// A number as text that is meant for people, without the digits that decimal numbers get in binary.
std::string plain(double value) { return fmt::format("{:.12g}", value); }

std::string closed_forms(const ClosedForms& forms, Sources& sources) {
  std::string text =
      "\n## Closed forms and ODE references\n\nOf one tile, through case files; expected values were computed outside "
      "the project. Errors and tolerances here are absolute, in the unit of the value.\n\n"
      "| id | what | expected | got | error | tolerance | through | source |\n| --- | --- | --- | --- | --- | --- | --- | --- |\n";
  for (const ClosedForm& form : forms) {
    text += fmt::format("| {} | {} | {} | {:.7g} | {} | {:.2g}: {} | {} | {} |\n", form.id, shown(form.what), plain(form.expected), form.got,
                        bound(std::abs(form.got - form.expected)), form.tolerance, form.why, shown(form.through), sources.number(form.source));
  }
  return text;
}

std::string convergences(const Convergences& all) {
  std::string text =
      "\n## Order of convergence\n\nHow errors fall as slices, segments and tolerances become finer. The error is relative to the reference; the observed order is the "
      "slope of log(error) over log(thickness, length or tolerance), by least squares over all refinements, and must lie as near to the expected one as stated.\n\n"
      "| what | reference | error by refinement | observed | expected | through |\n| --- | --- | --- | --- | --- | --- |\n";
  for (const Convergence& one : all) {
    std::string errors;
    for (const Refinement& refinement : one.refinements)
      errors += fmt::format("{}{} {}", errors.empty() ? "" : " / ", refinement.label, bound(refinement.error, 0.0));
    text += fmt::format("| {} | {} | {} | ≈ {:.2f} | {} ± {}: {} | {} |\n", shown(one.what), shown(one.reference), errors, observed_order(one), one.expected_order, one.within,
                        shown(one.why), shown(one.through));
  }
  return text;
}

std::string controls(const Controls& all) {
  std::size_t faults = 0;
  for (const Control& control : all) faults += control.faults.size();
  std::string text = fmt::format(
      "\n## Negative controls\n\nEach law as it is passes its check; then something is put wrong in it (a sign, a term, an area) and the same check must "
      "refuse it: by how many of the check's tolerances it is off, rounded down to a power of ten, and never less than {:.0f}. {} laws, {} faults. A check that is "
      "no row is a closed form that is worked beside the law. Whole tiles with a wrong sign or a dropped term are refused by their open books "
      "(tests/identity/negative\\_control\\_test.cpp).\n\n"
      "| law | check | fault | off by, tolerances |\n| --- | --- | --- | --- |\n",
      clearly, all.size(), faults);
  for (const Control& control : all) {
    for (const Fault& fault : control.faults) {
      const double off = refused_by(control, fault);
      const std::string told = std::isfinite(off) ? fmt::format("1e{:.0f}", std::floor(std::log10(off) + 1e-9)) : "endless";
      text += fmt::format("| {} | {} | {} | {} |\n", shown(control.law), shown(control.check), shown(fault.what), told);
    }
  }
  return text;
}

std::string reproduced_line(const Row& row, const Reproduction& reproduction, Sources& sources) {
  std::string got;
  const std::vector<double> expected = row.values();
  for (std::size_t i = 0; i < reproduction.got.size(); ++i) {
    const bool round_off = expected[i] == 0.0 && std::abs(reproduction.got[i]) < least_told;
    got += fmt::format("{}{:.8g}", got.empty() ? "" : " / ", round_off ? 0.0 : reproduction.got[i]);
  }
  const std::string code =
      reproduction.note.empty() ? reproduction.through : reproduction.through + " (" + reproduction.note + ")";
  return fmt::format("| {} | {} | {} | {} | {} | {:.2g} | {} | {} |\n", shown(row.id), what(row),
                     shown(value_with_unit(row.expected, row.unit)), got, bound(judge(row, reproduction.got).error),
                     relative_tolerance(row), shown(code), sources.number(row.source));
}

std::string group_tables(const Group& group, const std::map<std::string, const Reproduction*>& got, Sources& sources) {
  std::string reproduced, open;
  for (const Row& row : published_rows()) {
    if (!is_of(row, group)) continue;
    const auto found = got.find(row.id);
    if (found != got.end()) {
      reproduced += reproduced_line(row, *found->second, sources);
    } else {
      const auto reason = reasons().find(row.id);
      open += fmt::format(
          "| {} | {} | {} | {} | {} |\n", shown(row.id), what(row), shown(value_with_unit(row.expected, row.unit)),
          reason == reasons().end() ? "no reason stated" : shown(reason->second), sources.number(row.source));
    }
  }
  std::string text = fmt::format("\n## {}: {}\n", group.prefix, group.title);
  if (!reproduced.empty())
    text +=
        "\n| row | what | expected | got | error | tolerance | through | source |\n| --- | --- | --- | --- | --- | --- | --- | --- |\n" +
        reproduced;
  if (!open.empty())
    text +=
        "\nNot reproduced:\n\n| row | what | expected | why not | source |\n| --- | --- | --- | --- | --- |\n" + open;
  return text;
}

std::vector<std::string> split(const std::string& text, char separator) {
  std::vector<std::string> parts;
  std::istringstream stream(text);
  for (std::string part; std::getline(stream, part, separator);) parts.push_back(part);
  return parts;
}

bool same_cell(const std::string& committed, const std::string& made) {
  if (committed == made) return true;
  const std::vector<std::string> a = split(committed, ' '), b = split(made, ' ');
  if (a.size() != b.size()) return false;
  bool is_bound = false, is_about = false;
  for (std::size_t i = 0; i < a.size(); ++i) {
    double x = 0.0, y = 0.0;
    if (a[i] != b[i]) {
      if (!parse(a[i], x) || !parse(b[i], y)) return false;
      constexpr double last_digit = 1e-6, about = 0.1, worse_by = 10.0 * (1.0 + 1e-9);
      if (is_bound ? y > worse_by * x : std::abs(x - y) > (is_about ? about : last_digit) * std::abs(x)) return false;
    }
    is_bound = a[i] == "≤";
    is_about = a[i] == "≈";
  }
  return true;
}

}  // namespace

std::string page_of(const Findings& findings) {
  std::map<std::string, const Reproduction*> got;
  for (const Reproduction& reproduction : findings.reproductions) got[reproduction.id] = &reproduction;
  Sources sources;
  std::string page = head + counts(got) + closed_forms(findings.forms, sources) + convergences(findings.convergences) + controls(findings.controls);
  for (const Group& group : groups) page += group_tables(group, got, sources);
  page += "\n## Sources\n\n";
  for (const std::string& source : sources.in_order())
    page += fmt::format("- {}: {}\n", sources.number(source), shown(source));
  return page;
}

std::vector<std::string> differences(const std::string& committed, const std::string& made) {
  const std::vector<std::string> a = split(committed, '\n'), b = split(made, '\n');
  std::vector<std::string> found;
  if (a.size() != b.size()) found.push_back(fmt::format("{} lines committed, {} made", a.size(), b.size()));
  for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i) {
    const std::vector<std::string> old_cells = split(a[i], '|'), new_cells = split(b[i], '|');
    const bool same = old_cells.size() == new_cells.size() &&
                      std::equal(old_cells.begin(), old_cells.end(), new_cells.begin(), same_cell);
    if (!same) found.push_back(fmt::format("line {}:\n  committed: {}\n  made:      {}", i + 1, a[i], b[i]));
  }
  return found;
}

}  // namespace tileflux::verification
