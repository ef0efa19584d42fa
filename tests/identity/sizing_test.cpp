/// What must hold of every sized radiator, whatever the tile: the demand is met and no less would do; the answer does not
/// depend on where the search may look, nor on what the case states for what is free.

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "support/sized_tiles.h"
#include "tileflux/studies/size.h"

namespace tileflux::sizing_test {

struct Named {
  const char* name;
  tile::Case description;
};

/// One of each kind: plain, in the sun, a louvre, fins exact and in segments, in the sun, with k(T), a light, a throttle.
std::vector<Named> tiles() {
  std::vector<Named> all{{"plain", test::plain_radiator()}, {"fin", test::finned_radiator()}, {"light", test::lit_tile()}};
  tile::Case sunny = test::plain_radiator();
  sunny.surfaces[0].facing = tile::Surface::Facing::front;
  sunny.surfaces[0].absorptance = 0.15;
  all.push_back({"sunny", sunny});
  tile::Case louvre = test::plain_radiator();
  louvre.surfaces[0].emittance_over_K = PropertyTable({280.0, 320.0}, {0.1, 0.7});
  all.push_back({"louvre", louvre});
  tile::Case segments = test::finned_radiator();
  segments.surfaces[0].fin->segments = 6;
  segments.surfaces[0].fin->conductance_W_per_K = PropertyTable({250.0, 350.0}, {0.15, 0.18});
  all.push_back({"segments", segments});
  tile::Case lit_fin = test::finned_radiator();
  lit_fin.surfaces[0].faces = 1;
  lit_fin.surfaces[0].area_m2 = 1.0;
  lit_fin.surfaces[0].facing = tile::Surface::Facing::front;
  lit_fin.surfaces[0].absorptance = 0.1;
  all.push_back({"lit fin", lit_fin});
  tile::Case throttled = test::lit_tile();
  throttled.size->light_W = 140.0;
  throttled.limits.push_back({.node = "main.junction", .below_K = 343.15, .throttle_from_K = 333.15});
  all.push_back({"light with throttle", throttled});
  tile::Case careful = test::finned_radiator();
  careful.size->margin_K = 11.0;
  careful.size->area_margin = 0.1;
  all.push_back({"with margins", careful});
  return all;
}

/// Of the demand that sets the area, in a balance of the tile with that radiator.
double reached(const Named& one, const studies::Size& answer, double area_share) {
  tile::RadiatorDesign design = answer.best.design;
  design.area_m2 = area_share * answer.best.needed_m2;
  const studies::Demand& demand = answer.demands.front();
  tile::Case sized = studies::with_radiator(one.description, one.description.size->surface, design);
  const studies::Balance again = studies::balance(sized);
  const studies::OperatingPoint& point = demand.beam ? *again.beam_on : again.beam_off;
  if (demand.is_light()) return point.chain.light_out;
  tile::TileSystem system(sized);
  return system.network().temperature_K(system.network().find(demand.node), point.x);
}

TEST(SizedTile, MeetsWhatIsAskedAndNoLessWouldDo) {
  for (const Named& one : tiles()) {
    const studies::Size answer = studies::size(one.description);
    ASSERT_TRUE(answer.possible) << one.name;
    const studies::Demand& demand = answer.demands.front();
    constexpr double allowed_K_or_W = 0.01;  // what is promised of a sized tile
    constexpr double solved = 1e-6;          // what two steady solutions of it may differ by
    EXPECT_NEAR(reached(one, answer, 1.0), demand.wanted, solved) << one.name;
    const double less = reached(one, answer, 0.99);
    EXPECT_GT(demand.is_light() ? demand.wanted - less : less - demand.wanted, allowed_K_or_W) << one.name;
  }
}

TEST(SizedTile, DoesNotDependOnTheBounds) {
  for (const Named& one : tiles()) {
    const studies::Size answer = studies::size(one.description);
    Named other = one;
    tile::SizeSettings& size = *other.description.size;
    size.area_m2 = {0.3 * size.area_m2.least, 7.0 * size.area_m2.most};
    if (size.thickness_m) size.thickness_m = tile::Bounds{0.5 * size.thickness_m->least, 0.31 * size.thickness_m->most};
    if (size.pitch_m) size.pitch_m = tile::Bounds{3.1 * size.pitch_m->least, 2.0 * size.pitch_m->most};
    const studies::Size again = studies::size(other.description);
    constexpr double root = 1e-9, valley = 1e-6;  // of a root, and of the place of a flat optimum
    const double allowed = size.thickness_m ? valley : root;
    EXPECT_NEAR(again.best.needed_m2 / answer.best.needed_m2, 1.0, allowed) << one.name;
    EXPECT_NEAR(again.best.mass_kg(), answer.best.mass_kg(), root * answer.best.mass_kg()) << one.name;
  }
}

TEST(SizedTile, DoesNotDependOnWhatTheCaseStatesForWhatIsFree) {
  for (const Named& one : tiles()) {
    const studies::Size answer = studies::size(one.description);
    const tile::SizeSettings& size = *one.description.size;
    const tile::Surface* surface = nullptr;
    for (const tile::Surface& s : one.description.surfaces) surface = s.name == size.surface ? &s : surface;
    tile::RadiatorDesign stated = tile::design_of(*surface);
    stated.area_m2 *= 0.37;
    if (size.thickness_m) stated.thickness_m *= 2.3;
    if (size.pitch_m) stated.pitch_m *= 0.6;
    const studies::Size again = studies::size(studies::with_radiator(one.description, size.surface, stated));
    constexpr double valley = 1e-6;
    EXPECT_NEAR(again.best.needed_m2 / answer.best.needed_m2, 1.0, valley) << one.name;
  }
}

TEST(SizedTile, IsLargerForALowerLimit) {
  for (const Named& one : tiles()) {
    Named harder = one;
    if (harder.description.size->light_W) *harder.description.size->light_W += 0.5;
    for (tile::Limit& limit : harder.description.limits) *limit.below_K -= limit.throttle_from_K ? 0.0 : 1.0;
    EXPECT_GT(studies::size(harder.description).best.needed_m2, studies::size(one.description).best.needed_m2)
        << one.name;
  }
}

}  // namespace tileflux::sizing_test
