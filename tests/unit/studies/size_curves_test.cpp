#include <gtest/gtest.h>

#include <cmath>

#include "support/sized_tiles.h"
#include "tileflux/studies/size.h"

namespace tileflux::studies::size_curves_test {

TEST(SizeCurve, IsAValleyAboutTheBest) {
  const Size answer = size(test::finned_radiator());
  ASSERT_EQ(answer.curves.size(), 2u);
  for (const SizeCurve& curve : answer.curves) {
    ASSERT_EQ(curve.rows.size(), 7u);
    EXPECT_NEAR(curve.rows[3].mass_kg(), answer.best.mass_kg(), 1e-9) << "the row in the middle is the best";
    for (std::size_t i = 0; i < 3; ++i) {
      EXPECT_GT(curve.rows[i].mass_kg(), curve.rows[i + 1].mass_kg());
      EXPECT_LT(curve.rows[i + 3].mass_kg(), curve.rows[i + 4].mass_kg());
    }
  }
}

TEST(SizeCurve, TellsWhereTheMassIsWithinOnePerCent) {
  tile::Case panel = test::finned_radiator();
  const Size answer = size(panel);
  const tile::Bounds flat = answer.curves[0].within_one_percent;
  EXPECT_LT(flat.least, answer.best.design.thickness_m);
  EXPECT_GT(flat.most, answer.best.design.thickness_m);
  for (const double thickness_m : {flat.least, flat.most}) {
    panel.size->thickness_m = tile::Bounds{thickness_m, thickness_m};
    constexpr double ends_found = 1e-4;  // of an end that is located to 16 bits
    EXPECT_NEAR(size(panel).best.mass_kg() / answer.best.mass_kg(), 1.01, ends_found);
  }
}

TEST(SizeCurve, EndsAtTheBounds) {
  tile::Case panel = test::finned_radiator();
  const double best_m = size(panel).best.design.thickness_m;
  panel.size->thickness_m = tile::Bounds{0.97 * best_m, 1.02 * best_m};
  const SizeCurve curve = size(panel).curves[0];
  EXPECT_EQ(curve.within_one_percent.least, 0.97 * best_m);
  EXPECT_EQ(curve.within_one_percent.most, 1.02 * best_m);
}

TEST(SizeCurve, OverAreaTellsWhatOtherAreasComeTo) {
  const Size answer = size(test::plain_radiator());
  ASSERT_EQ(answer.curves.size(), 1u);
  const SizeCurve& curve = answer.curves.front();
  EXPECT_EQ(curve.variable, SizeCurve::Variable::area);
  ASSERT_EQ(curve.rows.size(), curve.reached.size());
  for (std::size_t i = 0; i < curve.rows.size(); ++i) {
    const double expected_K = 300.0 * std::pow(answer.best.needed_m2 / curve.rows[i].design.area_m2, 0.25);
    EXPECT_NEAR(curve.reached[i], expected_K, 1e-6) << "the fourth root of the area, to the solver's last digits";
  }
}

}  // namespace tileflux::studies::size_curves_test
