/// The keys of a timetable of light.

#include "tile/case_words.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::tile {

namespace {

/// A window shorter than this is a slip, and would vanish beside the times of a long campaign.
constexpr Range window_length{0.01, 1e9};
constexpr Range campaign_time{0.0, 1e9};

Section request_section() {
  Section request = section_of(
      "Request", "Someone asks for light in a window of time. Windows of one name must not overlap.",
      {{"name", NameType{}, "who asks", true, {}},
       needed(quantity("at", "s", campaign_time, "when the window opens, from the start of the case")),
       needed(quantity("for", "s", window_length, "how long it is open")),
       quantity("light", "W", positive, "light that is wanted out of the tile"),
       quantity("drive", "1", positive_share, "share of rated drive, instead of `light`"),
       with_default(
           {"priority", CountType{-1000, 1000}, "the higher is served first, of equal ones the earlier", false, {}},
           "0"),
       quantity("every", "s", window_length, "the window opens again so long after its opening"),
       {"times",
        CountType{1, 500'000},
        "how many windows in all, with `every`; without it they repeat to the end of a stated `run.duration`",
        false,
        {}}});
  request.exactly_one_of = {{"light", "drive"}};
  return request;
}

Section keep_out_section() {
  return section_of("Keep-out", "A window in which nothing is emitted, whoever asks.",
                    {needed(quantity("from", "s", campaign_time, "when it begins")),
                     needed(quantity("to", "s", campaign_time, "when it ends")),
                     quantity("every", "s", window_length, "it begins again so long after its beginning"),
                     {"times", CountType{1, 500'000}, "how many in all, as in a request", false, {}}});
}

}  // namespace

Section campaign_section() {
  constexpr auto list = SectionType::Shape::list;
  Section campaign = section_of(
      "Campaign",
      "A timetable of light: who asks for how much, when and for how long. What is asked for at once shares the drive "
      "of "
      "the tile by priority. The run lasts as `run.duration` says; where that is not stated, to the end of the last "
      "request if that is later. Tables are CSV files beside the case: a row of names, a row of units, then the "
      "values, "
      "with the columns of a request or of a keep-out.",
      {section("requests", request_section(), "who asks for what", list, 10'000),
       {"file", TextType{255}, "the requests as a table: the bare name of a CSV file beside the case", false, {}},
       section("keep_out", keep_out_section(), "windows in which nothing is emitted", list, 10'000),
       {"keep_out_file", TextType{255}, "these windows as a table beside the case", false, {}},
       quantity("needed_light", "W", positive, "light from which on the tile counts as available")});
  campaign.exactly_one_of = {{"requests", "file"}};
  campaign.at_most_one_of = {{"keep_out", "keep_out_file"}};
  return campaign;
}

}  // namespace tileflux::tile
