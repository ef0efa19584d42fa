#include "tileflux/base/errors.h"

#include <array>
#include <utility>

namespace tileflux {

namespace {

constexpr std::array code_list{
    CodeEntry{Code::file_unreadable, "file-unreadable", 2, "The file does not exist or cannot be read.",
              "Check the path and its permissions."},
    CodeEntry{Code::text_too_large, "text-too-large", 2, "The file, or a single value in it, is larger than the bound.",
              "Split the case or shorten the value; a case file holds at most 1 MiB and a value 4096 bytes."},
    CodeEntry{Code::text_encoding, "text-encoding", 2, "The file is not clean UTF-8 text.",
              "Save it as UTF-8 without control characters; indent with spaces."},
    CodeEntry{Code::yaml_syntax, "yaml-syntax", 2, "The text is not valid YAML at this place.",
              "Look at the line and the one above it: indentation, a missing colon, an open bracket or quote."},
    CodeEntry{Code::yaml_second_document, "yaml-second-document", 2, "The file holds more than one YAML document.",
              "Keep one document per file; remove what follows `---`."},
    CodeEntry{Code::yaml_anchor, "yaml-anchor", 2, "Anchors, aliases and merge keys are not accepted.",
              "Write the value out where it is needed."},
    CodeEntry{Code::yaml_tag, "yaml-tag", 2, "YAML tags are not accepted.",
              "Remove the word that begins with an exclamation mark."},
    CodeEntry{Code::yaml_too_deep, "yaml-too-deep", 2, "Maps and lists are nested deeper than the bound.",
              "Flatten the structure; at most 12 levels are read."},
    CodeEntry{Code::yaml_too_many_nodes, "yaml-too-many-nodes", 2, "The file holds more entries than the bound.",
              "Split the case; at most 50 000 entries are read."},
    CodeEntry{Code::key_unknown, "key-unknown", 2, "The key is not known at this place.",
              "Correct the spelling, or look the key up in the case reference."},
    CodeEntry{Code::key_duplicate, "key-duplicate", 2, "The same key stands twice in one map.", "Keep one of the two."},
    CodeEntry{Code::key_missing, "key-missing", 2, "A required key is missing.",
              "Add it; the case reference shows its unit and range."},
    CodeEntry{Code::key_conflict, "key-conflict", 2,
              "Keys that exclude each other stand together, or keys that belong together do not.",
              "Keep the ones that describe what you mean."},
    CodeEntry{Code::key_not_text, "key-not-text", 2, "A key is a list or a map, not a word.",
              "Use a plain word as key."},
    CodeEntry{Code::wrong_kind, "wrong-kind", 2,
              "The value has the wrong shape: a list, a map or a single value was expected.",
              "Compare with the example in the case reference."},
    CodeEntry{Code::empty_value, "empty-value", 2, "The key or the cell has no value.",
              "Give a value, or remove the key or the row."},
    CodeEntry{Code::count_out_of_bounds, "count-out-of-bounds", 2,
              "A list is shorter or longer than allowed, or a whole number lies outside its range.",
              "See the case reference for the bounds."},
    CodeEntry{Code::number_malformed, "number-malformed", 2, "The number cannot be read.",
              "Write digits with a point, for example 1.5 or 2e-3."},
    CodeEntry{Code::number_not_finite, "number-not-finite", 2, "The number is not finite.", "Give a finite number."},
    CodeEntry{Code::unit_missing, "unit-missing", 2, "A physical value stands without a unit.",
              "Write the unit behind the number, for example 1.2 kW."},
    CodeEntry{Code::unit_unknown, "unit-unknown", 2, "The unit is not known.",
              "Use SI units and the usual prefixes; AU, Wh, deg, degC and % are known too."},
    CodeEntry{Code::unit_malformed, "unit-malformed", 2, "The unit is not well formed.",
              "Use names, exponents, one slash and parentheses: W/(m2 K)."},
    CodeEntry{Code::unit_ambiguous, "unit-ambiguous", 2, "The unit can be read in two ways.",
              "Put what stands below the slash in parentheses: W/(m K)."},
    CodeEntry{Code::unit_unexpected, "unit-unexpected", 2, "A unit stands where a plain number is expected.",
              "Remove the unit; only % is accepted here."},
    CodeEntry{Code::dimension_wrong, "dimension-wrong", 2, "The unit has the wrong dimension for this key.",
              "Use a unit of the dimension that the message names."},
    CodeEntry{Code::value_out_of_range, "value-out-of-range", 2, "The value lies outside its range.",
              "Check the unit first, then the value."},
    CodeEntry{Code::choice_unknown, "choice-unknown", 2, "The word is not one of those accepted here.",
              "Use one of the words that the message lists."},
    CodeEntry{Code::name_malformed, "name-malformed", 2, "A name holds characters that names may not hold.",
              "Use a-z, 0-9 and _, a letter first, at most 64 characters."},
    CodeEntry{Code::text_too_long, "text-too-long", 2, "A text is longer than its bound.", "Shorten it."},
    CodeEntry{Code::format_version, "format-version", 2,
              "The file does not say a format version that this release reads.", "Begin a case with `tileflux: 1`."},
    CodeEntry{Code::file_elsewhere, "file-elsewhere", 2, "A case names a file that does not lie beside it.",
              "Give the bare name of a file in the folder of the case."},
    CodeEntry{
        Code::csv_syntax, "csv-syntax", 2, "The line is not one of a CSV table.",
        "Separate cells with commas; put a cell that holds a comma or a quote into double quotes, quotes doubled."},
    CodeEntry{Code::column_unknown, "column-unknown", 2, "The table has a column that is not known.",
              "Correct its name in the first row, or remove the column."},
    CodeEntry{Code::column_missing, "column-missing", 2, "A column that the table must have is missing.",
              "Add it: its name in the first row, its unit in the second."},
    CodeEntry{Code::name_unknown, "name-unknown", 2, "Something refers to a name that is not defined.",
              "Correct the spelling or define it."},
    CodeEntry{Code::name_taken, "name-taken", 2, "Two things have the same name.", "Rename one of them."},
    CodeEntry{Code::life_unknown, "life-unknown", 2,
              "The case asks for end of life, but this entry has begin-of-life values only.",
              "Define the finish or cell in the case with end-of-life values, or set `life: begin`."},
    CodeEntry{Code::table_not_rising, "table-not-rising", 2,
              "The first column of a table does not rise from row to row.", "Sort the rows and remove repeated ones."},
    CodeEntry{Code::table_shape, "table-shape", 2, "A table's rows and columns do not fit together.",
              "Give one value per column in every row."},
    CodeEntry{Code::shares_not_whole, "shares-not-whole", 2, "Shares that must make up a whole do not add up to 100 %.",
              "Correct the shares."},
    CodeEntry{Code::view_factors_open, "view-factors-open", 2,
              "The view factors of a face do not add up to what they must.",
              "In a closed enclosure each row adds up to 1; say `open: yes` where the rest is space."},
    CodeEntry{Code::view_factors_not_reciprocal, "view-factors-not-reciprocal", 2,
              "Two view factors contradict each other: A1 F12 must equal A2 F21.",
              "State one of the two; the other follows from the areas."},
    CodeEntry{Code::node_isolated, "node-isolated", 2,
              "No heat path leads from this part to space or to a part at fixed temperature.",
              "Join it to another part or give it a surface."},
    CodeEntry{Code::electricity_exceeds_sunlight, "electricity-exceeds-sunlight", 2,
              "The cells would deliver more electricity than the face absorbs sunlight.",
              "Check the cells' efficiency and the absorptance of the face."},
    CodeEntry{Code::limits_contradict, "limits-contradict", 2, "The temperatures of a limit are not in order.",
              "Keep throttle_from < below, reset_below < below, and above < below."},
    CodeEntry{Code::pattern_contradicts, "pattern-contradicts", 2, "An on-time is longer than its period.",
              "Make `on` at most `every`."},
    CodeEntry{Code::windows_overlap, "windows-overlap", 2, "Two windows of a timetable that must not overlap do.",
              "Correct the times, or join the windows; different names may overlap and share the drive."},
    CodeEntry{Code::windows_backwards, "windows-backwards", 2, "The times of a timetable run backwards.",
              "Sort the rows by time, and let every window end after it begins."},
    CodeEntry{Code::request_beyond_run, "request-beyond-run", 0, "A request lies beyond the end of the run.",
              "Lengthen `run.duration`, or leave it out: the run then lasts to the end of the last request."},
    CodeEntry{Code::part_not_described, "part-not-described", 2,
              "A part has no heat capacity and is not called massless or fixed.",
              "Give mass and material, a heat capacity, `massless: yes` or a fixed temperature."},
    CodeEntry{Code::limit_broken, "limit-broken", 1, "A temperature limit is broken.",
              "See the binding limit in the result: more radiator, less drive, or a shorter burst."},
    CodeEntry{Code::verification_failed, "verification-failed", 1, "This installation does not compute what it should.",
              "See which case failed, and what changed: the build, its libraries, or the materials library."},
    CodeEntry{Code::nothing_feasible, "nothing-feasible", 1, "No drive or duty meets every limit.",
              "The beam-off state already breaks a limit: change the tile, its distance or its tilt."},
    CodeEntry{Code::radiator_impossible, "radiator-impossible", 1,
              "No radiator within the bounds of `size` holds what is asked.",
              "The result says what comes nearest: widen the bounds, ask for less, or change what heats the tile."},
    CodeEntry{
        Code::margin_too_small, "margin-too-small", 1,
        "A limit is kept in every bounding case, but by less than the policy asks.",
        "The result says how much is missing: change the tile, know it better (`uncertainty`, `margins.tested`), or "
        "argue the policy."},
    CodeEntry{Code::margin_twice, "margin-twice", 0, "The same margin is counted twice.",
              "Keep it in one place: the limit as it is and the policy's margin, or the other way round."},
    CodeEntry{Code::margin_differs, "margin-differs", 0,
              "The policy asks for another margin than the case has, or says nothing about what the case states.",
              "Make the two agree, or know why they differ."},
    CodeEntry{Code::steady_not_found, "steady-not-found", 3, "No steady state was found.",
              "The message names the worst nodes; look for a part that cannot lose its heat, or limits of validity."},
    CodeEntry{Code::thermal_runaway, "thermal-runaway", 3,
              "A laser junction runs away: more temperature gives more heat than its path carries off.",
              "Lower the drive, the thermal resistance of the junction, or the temperature of its mount."},
    CodeEntry{Code::transient_failed, "transient-failed", 3, "The transient solver gave up.",
              "The message says time, step and the three worst nodes; look at what changes there."},
    CodeEntry{Code::periodic_not_found, "periodic-not-found", 3,
              "The state that repeats from period to period was not found.",
              "Loosen the tolerance or look at the transient with `run`."},
    CodeEntry{Code::ledger_open, "ledger-open", 3, "The energy ledger does not close: the result is refused.",
              "Tighten `accuracy` if the case loosened it; otherwise it is a fault of the model: please report it with "
              "the case file."},
    CodeEntry{Code::law_not_finite, "law-not-finite", 3, "A law gave a value that is not a number.",
              "The message names the node; check the case for extreme values there."},
    CodeEntry{Code::outside_validity, "outside-validity", 0,
              "A material property was used outside the temperatures its source covers; its end value was held.",
              "Judge whether the end value will do, or give a source that reaches further."},
    CodeEntry{Code::control_chatter, "control-chatter", 0,
              "Trips or thermostats switch so fast, or in such disorder, that it is chatter and not control.",
              "Widen the hysteresis or the minimum off time."},
    CodeEntry{Code::heater_authority, "heater-authority", 0,
              "A heater is on for so much of the time that it has too little in hand.",
              "Give it more power, or the part better insulation."},
    CodeEntry{Code::battery_rests, "battery-rests", 0,
              "The answer is one of sunlight alone: the battery neither gives nor takes.",
              "Use `run` to see the battery at work."},
    CodeEntry{Code::mean_surroundings, "mean-surroundings", 0,
              "The beam's period does not repeat with the surroundings: a mean or a neighbouring period was taken.",
              "Use a period that divides a revolution, or is a whole number of them (`beam.per_orbit`)."},
    CodeEntry{Code::slow_mode, "slow-mode", 0,
              "A cycle repeats only after days, or never by itself: a store or a battery is slow to settle.",
              "Nothing need be done; a run that is shorter does not show the repeating cycle yet."},
    CodeEntry{Code::roll_over_passed, "roll-over-passed", 0,
              "A diode heats itself so much that less current would give more light.",
              "Lower the drive, or the resistance to the mount."},
    CodeEntry{Code::interrupted, "interrupted", 3,
              "The run was interrupted; what was written up to there is complete and readable.",
              "Run it again for the full time."},
    CodeEntry{Code::result_damaged, "result-damaged", 2,
              "A result file is not as a verb wrote it: cut short, changed, or of another kind.",
              "Run the verb again with `--out DIR`, and name that directory."},
    CodeEntry{Code::output_unwritable, "output-unwritable", 2, "A result file cannot be written.",
              "Check the directory, its permissions and the free space."},
    CodeEntry{Code::report_unavailable, "report-unavailable", 2,
              "This build makes no report pages, or what draws pictures of charts is not on this machine.",
              "Build with node and npm at hand and -DTILEFLUX_REPORT=ON; for pictures have node on PATH."},
    CodeEntry{Code::verb_unknown, "verb-unknown", 2, "The command does not know this verb.", "See `tileflux --help`."},
    CodeEntry{Code::option_wrong, "option-wrong", 2, "An option is unknown or its value cannot be read.",
              "See `tileflux <verb> --help`."},
    CodeEntry{Code::internal, "internal", 4, "Something happened that should not be possible.",
              "Please report it with the case file and the message."},
};

constexpr bool in_order() {
  for (std::size_t i = 0; i < code_list.size(); ++i) {
    if (static_cast<std::size_t>(code_list[i].code) != i) return false;
  }
  return static_cast<std::size_t>(Code::internal) + 1 == code_list.size();
}
static_assert(in_order(), "code_list must follow the enum");

std::string summary_of(const std::vector<Diagnostic>& diagnostics) {
  std::string text;
  for (const Diagnostic& diagnostic : diagnostics) {
    if (!text.empty()) text += '\n';
    text += describe(diagnostic);
  }
  return text;
}

Code first_error(const std::vector<Diagnostic>& diagnostics) {
  for (const Diagnostic& diagnostic : diagnostics) {
    if (diagnostic.severity == Severity::error) return diagnostic.code;
  }
  return diagnostics.empty() ? Code::internal : diagnostics.front().code;
}

/// Blanks up to the caret, one for each character (not byte) before the column; tabs stay tabs.
std::string caret_indent(const std::string& line, int column) {
  std::string indent;
  for (int i = 0; i + 1 < column && i < static_cast<int>(line.size()); ++i) {
    const auto byte = static_cast<unsigned char>(line[static_cast<std::size_t>(i)]);
    const bool continuation = (byte & 0xC0u) == 0x80u;
    if (!continuation) indent += byte == '\t' ? '\t' : ' ';
  }
  return indent;
}

}  // namespace

std::span<const CodeEntry> all_codes() { return code_list; }

const CodeEntry& entry_of(Code code) { return code_list[static_cast<std::size_t>(code)]; }

std::string describe(const Diagnostic& diagnostic) {
  std::string text;
  const Place& place = diagnostic.place;
  if (!place.file.empty()) {
    text += place.file;
    if (place.line > 0) text += ':' + std::to_string(place.line) + ':' + std::to_string(place.column);
    text += ": ";
  }
  text += diagnostic.severity == Severity::error ? "error " : "warning ";
  text += entry_of(diagnostic.code).slug;
  text += ": ";
  if (!place.path.empty()) text += place.path + ": ";
  text += diagnostic.message;
  if (!diagnostic.excerpt.empty()) {
    text += "\n    " + diagnostic.excerpt + "\n    " + caret_indent(diagnostic.excerpt, place.column) + '^';
  }
  if (!diagnostic.suggestion.empty()) text += "\n    " + diagnostic.suggestion;
  return text;
}

Error::Error(Diagnostic diagnostic) : Error(std::vector<Diagnostic>{std::move(diagnostic)}) {}

Error::Error(std::vector<Diagnostic> diagnostics)
    : std::runtime_error(summary_of(diagnostics)),
      diagnostics_(std::move(diagnostics)),
      code_(first_error(diagnostics_)) {}

Error::Error(Code code, std::string message)
    : Error(Diagnostic{.code = code,
                       .severity = Severity::error,
                       .place = {},
                       .message = std::move(message),
                       .excerpt = {},
                       .suggestion = {}}) {}

}  // namespace tileflux
