#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/shipped_library.h"
#include "support/temporary_directory.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::tile::case_builder_campaign_test {

using testing::HasSubstr;
using testing::IsEmpty;

constexpr double hour_s = 3600.0, day_s = 86400.0;

const std::string tile_text = R"(tileflux: 1
title: lamp
sun: {distance: 1 AU}
parts:
  plate: {heat_capacity: 2 kJ/K}
surfaces:
  face: {on: plate, area: 1 m2, emittance: 85 %, absorptance: 90 %, sunlit: yes}
cells: {surface: face, on: plate, efficiency: 30 %, slope: -0.2 %/K}
lasers:
  main: {mount: plate, resistance: 0.5 K/W, modules: 4, table: {rated_input: 80 W, efficiency: 50 %}}
)";

CaseFile read(const std::string& campaign) { return read_case_text(tile_text + campaign, "lamp.yaml", test::shipped_library()); }

std::string requests(const std::string& rows) { return "campaign:\n  requests: [" + rows + "]\n"; }

TEST(CampaignInACase, IsReadInSi) {
  const CaseFile file = read(R"(campaign:
  requests:
    - {name: a, at: 2 h, for: 10 min, light: 50 W, priority: -2, every: 1 day, times: 3}
    - {name: b, at: 3 h, for: 1 h, drive: 50 %}
  keep_out: [{from: 1 h, to: 90 min, every: 12 h, times: 2}]
  needed_light: 0.04 kW
beam: {drive: 90 %}
)");
  const Campaign& campaign = file.description.campaign.value();
  ASSERT_EQ(campaign.requests.size(), 2u);
  const Request& first = campaign.requests[0];
  EXPECT_EQ(first.at_s, 2.0 * hour_s);
  EXPECT_EQ(first.for_s, 600.0);
  EXPECT_EQ(first.light_W, 50.0);
  EXPECT_EQ(first.priority, -2);
  EXPECT_EQ(first.every_s, day_s);
  EXPECT_EQ(first.times, 3);
  EXPECT_EQ(campaign.requests[1].drive, 0.5);
  EXPECT_EQ(campaign.keep_out.at(0).to_s, 5400.0);
  EXPECT_EQ(campaign.keep_out.at(0).times, 2);
  EXPECT_EQ(campaign.needed_light_W, 40.0);
  EXPECT_EQ(file.description.beam->drive, 0.9);
}

TEST(CampaignInACase, LastsToItsLastRequestIfNothingElseIsStated) {
  const CaseFile longer = read(requests("{name: a, at: 2 h, for: 1 h, light: 50 W, every: 1 day, times: 3}"));
  EXPECT_EQ(longer.description.run.duration_s, 2.0 * day_s + 3.0 * hour_s);
  EXPECT_TRUE(longer.description.campaign->to_its_end);
  const CaseFile shorter = read(requests("{name: a, at: 2 h, for: 1 h, light: 50 W}"));
  EXPECT_EQ(shorter.description.run.duration_s, day_s) << "the default is longer";
  EXPECT_FALSE(shorter.description.campaign->to_its_end);
  EXPECT_THAT(longer.warnings, IsEmpty());
}

TEST(CampaignInACase, IsCutByAStatedDurationWithAWarning) {
  const CaseFile cut =
      read(requests("{name: a, at: 2 h, for: 1 h, light: 50 W, every: 1 day, times: 3}, {name: b, at: 9 day, for: 1 h, "
                    "light: 50 W}") +
           "run: {duration: 2 day}\n");
  EXPECT_EQ(cut.description.run.duration_s, 2.0 * day_s);
  ASSERT_EQ(cut.warnings.size(), 2u);
  for (const Diagnostic& warning : cut.warnings) {
    EXPECT_EQ(warning.code, Code::request_beyond_run);
    EXPECT_EQ(warning.severity, Severity::warning);
  }
  EXPECT_THAT(cut.warnings[0].message, HasSubstr("reaches beyond"));
  EXPECT_THAT(cut.warnings[1].message, HasSubstr("lies beyond"));
}

TEST(CampaignInACase, RepeatsToTheEndOfAStatedDuration) {
  const CaseFile file =
      read(requests("{name: a, at: 2 h, for: 1 h, light: 50 W, every: 1 day}") + "run: {duration: 10 day}\n");
  EXPECT_EQ(file.description.campaign->requests[0].times, 10);
}

TEST(CampaignInACase, ComesFromTablesToo) {
  const test::TemporaryDirectory directory;
  test::write_file(directory / "who.csv",
                   "name,for,at,drive,light,every,times\n,min,h,%,kW,day,\na,10,1,,0.05,1,4\nb,20,12,50,,,\n");
  test::write_file(directory / "never.csv", "from,to\nh,h\n3,4\n");
  const CaseFile file = read_case_text(tile_text + "campaign: {file: who.csv, keep_out_file: never.csv}\n",
                                       (directory / "lamp.yaml").string(), test::shipped_library());
  const Campaign& campaign = file.description.campaign.value();
  EXPECT_EQ(campaign.requests[0].light_W, 50.0);
  EXPECT_FALSE(campaign.requests[0].drive);
  EXPECT_EQ(campaign.requests[0].times, 4);
  EXPECT_EQ(campaign.requests[1].drive, 0.5);
  EXPECT_EQ(campaign.requests[1].times, 1);
  EXPECT_EQ(campaign.keep_out.at(0).from_s, 3.0 * hour_s);
}

TEST(CampaignInACase, MayTouchButNotOverlap) {
  EXPECT_NO_THROW(read(requests("{name: a, at: 0 h, for: 1 h, light: 50 W}, {name: a, at: 1 h, for: 1 h, light: 50 W}")));
  EXPECT_NO_THROW(read(requests("{name: a, at: 0 h, for: 1 h, light: 50 W, every: 1 h, times: 24}")));
  EXPECT_NO_THROW(read(requests("{name: a, at: 0 h, for: 2 h, light: 50 W}, {name: b, at: 1 h, for: 2 h, light: 5 W}")));
  EXPECT_NO_THROW(read(requests("{name: a, at: 0 h, for: 1 h, light: 50 W}, {name: b, at: 1 h, for: 1 h, drive: 5 %}")));
}

TEST(CampaignInACase, TellsAtMostAHundredFindings) {
  const test::TemporaryDirectory directory;
  std::string table = "name,at,for,light\n,h,h,W\n";
  for (int i = 0; i < 1000; ++i) table += "a,0,1,50\n";
  test::write_file(directory / "who.csv", table);
  try {
    read_case_text(tile_text + "campaign: {file: who.csv}\n", (directory / "lamp.yaml").string(), test::shipped_library());
    FAIL() << "not refused";
  } catch (const Error& error) {
    EXPECT_LE(error.diagnostics().size(), 100u);
    EXPECT_EQ(error.code(), Code::windows_overlap);
  }
}

TEST(CampaignInACase, NeedsLasers) {
  const std::string without = tile_text.substr(0, tile_text.find("lasers:"));
  try {
    read_case_text(without + requests("{name: a, at: 0 h, for: 1 h, light: 50 W}"), "lamp.yaml", test::shipped_library());
    FAIL() << "not refused";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::key_missing);
  }
}

}  // namespace tileflux::tile::case_builder_campaign_test
