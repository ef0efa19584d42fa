/// Stories: flows that add up, tables that say what the result says, thinning that loses no extreme.

#include <gmock/gmock.h>

#include <cmath>
#include <ctime>

#include "report/story_parts.h"
#include "sample_results.h"
#include "support/slowness.h"
#include "support/temporary_directory.h"
#include "tileflux/base/errors.h"
#include "tileflux/report/result_files.h"
#include "tileflux/results/answers_file.h"
#include "tileflux/results/digest.h"
#include "tileflux/results/series.h"

namespace tileflux::report {
namespace story_test {

using ::testing::HasSubstr;

using tileflux::test::TemporaryDirectory;
using tileflux::test::write_file;

Story story_of_json(const test::SampleJson& json) { return story_of({result_of_text(json.dump(), "result.json")}); }

const Section& section_of_story(const Story& story, const std::string& id) {
  for (const Section& section : story.sections) {
    if (section.id == id) return section;
  }
  throw std::runtime_error("no section " + id);
}

double number_in(const Table& table, std::size_t row, std::size_t column) {
  return std::get<double>(table.rows.at(row).at(column));
}

TEST(FlowChart, BalancesAtEveryStationAndHasNoCycle) {
  const Story story = story_of_json(test::sample_balance());
  for (const char* id : {"flow-on", "flow-off"}) {
    const auto chart = std::get<FlowChart>(*section_of_story(story, id).chart);
    EXPECT_DOUBLE_EQ(chart.whole_W, 1000.0);
    std::map<std::string, std::size_t> place;
    for (std::size_t i = 0; i < chart.stations.size(); ++i) place[chart.stations[i].name] = i;
    double ends_W = 0.0;
    for (const FlowChart::Station& station : chart.stations) {
      double in_W = 0.0, out_W = 0.0;
      for (const FlowChart::Link& link : chart.links) {
        if (link.to == station.name) in_W += link.power_W;
        if (link.from == station.name) out_W += link.power_W;
      }
      constexpr double balance_bound_W = 1e-9 * 1000.0;
      if (in_W > 0.0 && out_W > 0.0)
        EXPECT_NEAR(in_W, out_W, balance_bound_W) << station.name;
      else
        ends_W += in_W;
    }
    EXPECT_NEAR(ends_W, 1000.0, 1e-9 * 1000.0) << "what comes in leaves at the ends";
    for (const FlowChart::Link& link : chart.links) {
      EXPECT_GT(link.power_W, 0.0);
      EXPECT_LT(place.at(link.from), place.at(link.to)) << link.from << " to " << link.to;
    }
  }
}

TEST(FlowChart, TurnsWhatASurfaceTakesInIntoASource) {
  test::SampleJson json = test::sample_balance();
  json["beam_on"]["infrared_by_surface_W"] = {{"front", 850.0}, {"rear", -40.0}};
  const auto chart = std::get<FlowChart>(*section_of_story(story_of_json(json), "flow-on").chart);
  EXPECT_DOUBLE_EQ(chart.whole_W, 1040.0);
  const auto is_source = [](const FlowChart::Link& link) {
    return link.from == "infrared from rear" && link.to == "heat";
  };
  EXPECT_TRUE(std::any_of(chart.links.begin(), chart.links.end(), is_source));
}

TEST(Story, TellsTheNumbersOfTheResult) {
  const test::SampleJson json = test::sample_balance();
  const Story story = story_of_json(json);
  EXPECT_EQ(story.title, "A tile");
  EXPECT_THAT(story.answer, HasSubstr("90 W"));
  EXPECT_THAT(story.answer, HasSubstr("9.0 % of the sunlight"));
  EXPECT_TRUE(story.met);
  EXPECT_THAT(story.binds, HasSubstr("cells below 76.85 degC"));
  const Section& numbers = section_of_story(story, "numbers");
  constexpr double zero_celsius_K = 273.15, round_off = 1e-12;
  const Table& temperatures = numbers.tables[1];
  ASSERT_EQ(temperatures.rows.size(), json["beam_on"]["temperature_K"].size());
  for (std::size_t i = 0; i < temperatures.rows.size(); ++i) {
    const auto name = std::get<std::string>(temperatures.rows[i][0]);
    EXPECT_NEAR(number_in(temperatures, i, 1) + zero_celsius_K, json["beam_on"]["temperature_K"][name].get<double>(),
                round_off * 1e3);
  }
  const Table& powers = numbers.tables[2];
  for (std::size_t i = 0; i < powers.rows.size(); ++i) {
    std::string key = std::get<std::string>(powers.rows[i][0]);
    std::replace(key.begin(), key.end(), ' ', '_');
    EXPECT_EQ(number_in(powers, i, 1), json["beam_on"]["power_W"][key].get<double>()) << key;
    EXPECT_EQ(number_in(powers, i, 2), json["beam_off"]["power_W"][key].get<double>()) << key;
  }
  const Section& margins = section_of_story(story, "margins");
  const auto chart = std::get<MarginChart>(*margins.chart);
  ASSERT_EQ(chart.bars.size(), 4u);
  for (std::size_t i = 0; i < chart.bars.size(); ++i) {
    EXPECT_EQ(chart.bars[i].margin, number_in(margins.tables[0], i, 4));
    EXPECT_LE(chart.bars[i > 0 ? i - 1 : 0].margin, chart.bars[i].margin);
  }
}

TEST(Story, TakesNextStepsFromTheParagraphWhy) {
  test::SampleJson json = test::sample_balance();
  EXPECT_THAT(story_of_json(json).next.front(), HasSubstr("tileflux gains"));
  json["why"] = {
      {"regime", "heat-limited"},
      {"binding_limit", test::sample_limit("cells", 340.0, 350.0)},
      {"next_limit", nullptr},
      {"one_per_cent_buys",
       {{{"input", "materials.surfaces.paint.absorptance.factor"}, {"more", false}, {"usable_light_W", 5.92}}}},
      {"one_kilogram_buys", test::SampleJson::array()},
      {"weak_values", test::SampleJson::array()}};
  json["why"]["binding_limit"]["beam"] = "on";
  const Story story = story_of_json(json);
  EXPECT_EQ(story.next.front(), "One per cent less absorptance of paint buys +5.92 W of usable light.");
  EXPECT_THAT(story.binds, HasSubstr("with the beam on, 10.00 K left"));
}

TEST(Story, SaysWhereItComesFromAndWhenTheTextIsNotTheOne) {
  test::SampleJson json = test::sample_balance();
  json["input"] = {{"text", "abc"}, {"sha256", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"}};
  json["materials_used"] = {{{"material", "paint"},
                             {"property", "emittance"},
                             {"value_si", 0.88},
                             {"unit", "1"},
                             {"over_temperature", false},
                             {"basis", "published"},
                             {"uncertainty", "2 %"},
                             {"source", "A book"}}};
  const Story story = story_of_json(json);
  EXPECT_EQ(story.provenance.inputs.front().text, "abc");
  EXPECT_EQ(story.provenance.sources.front().value, "paint emittance = 0.88");
  EXPECT_EQ(story.provenance.sources.front().source, "A book");
  EXPECT_TRUE(story.warnings.empty());
  json["input"]["text"] = "abd";
  EXPECT_THAT(story_of_json(json).warnings.front(), HasSubstr("SHA-256 is another"));
}

TEST(Story, CarriesHostileNamesAsTheyAreAndKeepsIdsClean) {
  test::SampleJson json = test::sample_balance();
  const std::string hostile = "</script><script>alert(1)</script>\xE2\x80\xAE\xF0\x9F\x94\xA5" + std::string(3000, 'x');
  json["title"] = hostile;
  for (const char* state : {"beam_on", "beam_off"}) json[state]["temperature_K"][hostile] = 320.0;
  const Story one = story_of_json(json);
  EXPECT_EQ(one.title, hostile);
  const Result result = result_of_text(json.dump(), "result.json");
  std::set<std::string> ids;
  for (const Section& section : story_of({result, result}).sections) {
    EXPECT_EQ(section.id.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-"), std::string::npos) << section.id;
    EXPECT_TRUE(ids.insert(section.id).second) << section.id << " stands twice";
  }
}

TEST(Story, SaysOfARunWhatWasBrokenAndWhen) {
  const Story story = story_of_json(test::sample_run());
  EXPECT_FALSE(story.met);
  EXPECT_THAT(story.answer, HasSubstr("45 kJ of light"));
  EXPECT_THAT(story.answer, HasSubstr("broken by 1.00 K"));
  const Table& events = section_of_story(story, "events").tables[1];
  EXPECT_EQ(std::get<std::string>(events.rows[1][1]), "limit broken");
  EXPECT_DOUBLE_EQ(number_in(events, 1, 0), 650.5);
  EXPECT_THAT(story.warnings, ::testing::Contains(HasSubstr("does not hold the text")));
  EXPECT_THAT(story.warnings, ::testing::Contains(HasSubstr("no series.nc")));
}

TEST(StoryOfAGrid, DrawsAMapThatHoldsTheAnswersOfTheFile) {
  const TemporaryDirectory directory;
  const std::vector<double> distances_m{1.2e11, 1.5e11, 1.8e11}, shares{0.9, 0.95};
  results::AnswersLayout layout{
      .title = "A grid",
      .rows = 6,
      .varied = {{"sun.distance", "m", "distance", distances_m}, {"optics.transmission", "1", "share", shares}},
      .answers = {{"usable_laser_power", "W", "light", {}}, {"regime", "1", "", {"a", "b"}}},
      .troubles = {"steady-not-found"}};
  results::AnswersWriter writer(results::OutputDirectory(directory.path()), layout,
                                "{\"design\": \"grid\", \"varied\": []}");
  for (int row = 0; row < 6; ++row) {
    const double inputs[] = {distances_m[static_cast<std::size_t>(row / 2)], shares[static_cast<std::size_t>(row % 2)]};
    const double answers[] = {row == 5 ? std::nan("") : 10.0 * row, row % 2 == 0 ? 0.0 : 1.0};
    writer.append({inputs, answers, row == 5 ? 1 : 0, row == 5 ? "steady-not-found: none" : ""});
  }
  writer.flush();
  writer.close();
  const Story story = story_of(read_results({directory.path().string()}));
  const Section& section = section_of_story(story, "map-usable-laser-power");
  const auto& map = std::get<HeatMap>(*section.chart);
  EXPECT_EQ(map.y_unit, "AU");
  EXPECT_EQ(map.x, shares);
  ASSERT_EQ(map.values.size(), 6u);
  for (std::size_t y = 0; y < 3; ++y) {
    for (std::size_t x = 0; x < 2; ++x) {
      if (2 * y + x == 5) continue;
      EXPECT_EQ(map.values[2 * y + x], 10.0 * static_cast<double>(2 * y + x));
      EXPECT_EQ(number_in(section.tables[0], y, x + 1), map.values[2 * y + x]);
    }
  }
  EXPECT_TRUE(std::isnan(map.values[5]));
  EXPECT_TRUE(std::holds_alternative<std::monostate>(section.tables[0].rows[2][2]));
  EXPECT_THAT(story.answer, HasSubstr("usable light is most at 1.2032 AU, 0.9: 40 W"));
}

TEST(StandingRows, KeepFirstLastAndEveryExtreme) {
  std::vector<double> falls(1000), peak(1000, 1.0), gaps(1000, std::nan(""));
  for (std::size_t i = 0; i < falls.size(); ++i) falls[i] = -static_cast<double>(i);
  peak[617] = 2.0;
  peak[618] = 0.0;
  const auto rows = standing_rows({&falls, &peak, &gaps}, 1000, {333}, 60);
  for (const std::size_t row : {0u, 333u, 617u, 618u, 999u}) EXPECT_THAT(rows, ::testing::Contains(row));
  EXPECT_LE(rows.size(), 60u);
  EXPECT_GE(rows.size(), 55u);
  EXPECT_TRUE(std::is_sorted(rows.begin(), rows.end()));
  EXPECT_TRUE(standing_rows({&falls}, 0, {}, 60).empty());
}

/// A day of a tile of forty parts at 5000 times.
void write_day(const TemporaryDirectory& directory) {
  constexpr int parts = 40, rows = 5000;
  test::SampleJson json = test::sample_run();
  json["end_s"] = 86400.0;
  json["extremes"] = test::SampleJson::object();
  std::vector<std::string> names;
  for (int p = 0; p < parts; ++p) {
    names.push_back("part" + std::to_string(p));
    json["extremes"][names.back()] = {
        {"lowest_K", 300.0}, {"lowest_at_s", 0.0}, {"highest_K", 351.0}, {"highest_at_s", 700.0}};
  }
  std::vector<results::ScalarVariable> scalars{{"sun_seen", "1", "Sun"}};
  for (int s = 0; s < 17; ++s) scalars.push_back({"power" + std::to_string(s) + "_W", "W", "power"});
  results::SeriesWriter series(results::OutputDirectory(directory.path()), {"A day", names, scalars, "series"});
  std::vector<double> temperatures_K(parts), values(scalars.size(), 10.0);
  for (int row = 0; row < rows; ++row) {
    for (int p = 0; p < parts; ++p)
      temperatures_K[static_cast<std::size_t>(p)] = 300.0 + p + 10.0 * std::sin(0.01 * row + p);
    values[0] = row / 500 % 2 == 0 ? 1.0 : 0.0;
    series.append(86400.0 / rows * row, temperatures_K, values);
  }
  series.close();
  write_file(directory / "run.json", results::sealed(json.dump(), {directory / "series.nc"}));
}

TEST(StoryOfADay, HasAllItsRowsEclipsesAndLimitsAndIsToldAtOnce) {
  const TemporaryDirectory directory;
  write_day(directory);
  const std::clock_t begin = std::clock();
  const Story story = story_of(read_results({directory.path().string()}));
  const double took_s =
      static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;  // of this process: others may be busy
  const double bound_s = tileflux::test::allowed(0.25);            // 0.2 s is wanted
  EXPECT_LT(took_s, bound_s);
  const Section& section = section_of_story(story, "series");
  const auto& chart = std::get<LineChart>(*section.chart);
  EXPECT_EQ(chart.x.size(), 5000u);
  EXPECT_EQ(chart.lines.size(), 40u + 18u);
  EXPECT_EQ(chart.bands.size(), 5u);
  EXPECT_EQ(chart.levels.size(), 1u);
  const Table& table = section.tables.front();
  EXPECT_THAT(table.left_out, HasSubstr("of 5000 rows"));
  EXPECT_LE(table.rows.size(), 2u * 58u + 4u) << "extremes of every column at most, beside first, last and the event";
  // Whatever stands in the table stands in the chart.
  for (std::size_t c = 1; c < table.columns.size(); ++c) {
    const std::vector<double>& values = chart.lines[c - 1].values;
    double most = -1e300;
    for (std::size_t r = 0; r < table.rows.size(); ++r) most = std::max(most, number_in(table, r, c));
    EXPECT_EQ(most, *std::max_element(values.begin(), values.end())) << table.columns[c].name;
  }
}

}  // namespace story_test
}  // namespace tileflux::report
