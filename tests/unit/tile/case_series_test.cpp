#include "tileflux/tile/case_series.h"

#include <gtest/gtest.h>

#include <functional>

#include "tileflux/base/constants.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile::case_series_test {

const CaseTemplate& lamplighter_cases() {
  static const CaseTemplate cases(std::string(TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml"),
                                  materials::read_library(TILEFLUX_PROJECT_DIR "/materials"));
  return cases;
}

/// What a tile makes of a state: any difference of its laws shows.
std::vector<double> heat_of(const Case& description) {
  TileSystem system(description);
  Mode mode;
  mode.beam = true;
  mode.surroundings = Mode::Surroundings::mean;
  system.set_mode(mode);
  const std::vector<double> x = system.uniform_state(301.0);
  std::vector<double> heat_W(x.size());
  system.residual(0.0, x, std::vector<double>(x.size(), 0.01), heat_W);
  heat_W.push_back(description.limits[0].below_K.value_or(0.0));
  heat_W.push_back(description.run.duration_s);
  return heat_W;
}

TEST(CaseSeries, MakesTheCasesThatTheTemplateMakes) {
  const std::vector<std::string> paths{"sun.distance",        "stack.layers[1].thickness",      "joins[1].conductance",
                                       "parts.back.mass",     "lasers.east.diode.rated_current", "limits.cells.above",
                                       "infrared[0].exchange_area", "sun.tilt", "materials.surfaces.white_silicone_paint.emittance.factor"};
  CaseSeries series(lamplighter_cases(), paths);
  for (int i = 0; i < 4; ++i) {
    const double share = 1.0 + 0.01 * i;
    const std::vector<double> values{share * 1.4e11, share * 1.4e-4, share * 5.0, share * 2.7, share * 25.0,
                                     share * 150.0,  share * 0.01,   0.1 * i,     1.0 - 0.01 * i};
    std::vector<Override> overrides;
    for (std::size_t k = 0; k < paths.size(); ++k) overrides.emplace_back(paths[k], values[k]);
    EXPECT_EQ(heat_of(series.with(values)), heat_of(lamplighter_cases().with(overrides).description)) << i;
  }
}

TEST(CaseSeries, ReachesValuesInTablesAndListsToo) {
  CaseSeries series(lamplighter_cases(), {"surfaces.front.absorbed_in[0].share", "infrared[1].emittances[0]"});
  series.with(std::vector<double>{0.96, 0.85});
  const std::vector<double> values{0.96, 0.5};
  const std::vector<Override> overrides{{"surfaces.front.absorbed_in[0].share", 0.96}, {"infrared[1].emittances[0]", 0.5}};
  EXPECT_EQ(heat_of(series.with(values)), heat_of(lamplighter_cases().with(overrides).description));
}

std::string words_of(const std::function<void()>& made) {
  try {
    made();
  } catch (const Error& error) {
    return error.what();
  }
  return "nothing was refused";
}

TEST(CaseSeries, RefusesWhatTheTemplateRefusesInTheSameWords) {
  const std::vector<std::string> paths{"limits.cells.above", "sun.distance"};
  CaseSeries series(lamplighter_cases(), paths);
  series.with(std::vector<double>{150.0, 1.5e11});
  // Beyond the range of the key; then above the limit's `below`, which the builder refuses.
  for (const std::vector<double>& values : {std::vector<double>{150.0, -1.0}, std::vector<double>{400.0, 1.5e11}}) {
    const std::vector<Override> overrides{{paths[0], values[0]}, {paths[1], values[1]}};
    const std::string words = words_of([&] { series.with(values); });
    EXPECT_NE(words, "nothing was refused");
    EXPECT_EQ(words, words_of([&] { lamplighter_cases().with(overrides); }));
  }
  EXPECT_EQ(series.with(std::vector<double>{150.0, 1.5e11}).limits.size(), 5u) << "a refusal leaves nothing behind";
  EXPECT_NE(words_of([] { CaseSeries(lamplighter_cases(), {"sun.distanse"}); }), "nothing was refused");
}

}  // namespace tileflux::tile::case_series_test
