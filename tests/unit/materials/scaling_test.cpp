#include "tileflux/materials/scaling.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tileflux/base/errors.h"

namespace tileflux::materials::scaling_test {

const Library& library_to_scale() {
  static const Library all = read_library(TILEFLUX_PROJECT_DIR "/materials");
  return all;
}

TEST(Scaling, MultipliesConstantsAndEveryRowOfATable) {
  Library scaled = library_to_scale();
  scale(scaled, "solids.aluminium_6061_t6.heat_capacity", 1.5);
  scale(scaled, "media.octadecane.latent_heat", 0.5);
  scale(scaled, "media.octadecane.solid.conductivity", 2.0);
  const Library& before = library_to_scale();
  for (const double at_K : {100.0, 300.0, 350.0}) {
    EXPECT_DOUBLE_EQ(scaled.solid("aluminium_6061_t6")->heat_capacity.table.value(at_K),
                     1.5 * before.solid("aluminium_6061_t6")->heat_capacity.table.value(at_K));
  }
  EXPECT_DOUBLE_EQ(scaled.medium("octadecane")->latent_heat.value, 0.5 * before.medium("octadecane")->latent_heat.value);
  EXPECT_DOUBLE_EQ(scaled.medium("octadecane")->solid.conductivity.table.value(290.0),
                   2.0 * before.medium("octadecane")->solid.conductivity.table.value(290.0));
  EXPECT_DOUBLE_EQ(scaled.medium("octadecane")->liquid.conductivity.table.value(310.0),
                   before.medium("octadecane")->liquid.conductivity.table.value(310.0));
}

TEST(Scaling, KeepsBeginAndEndOfLifeTogether) {
  Library scaled = library_to_scale();
  scale(scaled, "surfaces.white_silicone_paint.absorptance", 0.9);
  const Surface *now = scaled.surface("white_silicone_paint"), *before = library_to_scale().surface("white_silicone_paint");
  EXPECT_DOUBLE_EQ(now->begin.absorptance.table.value(293.0), 0.9 * before->begin.absorptance.table.value(293.0));
  EXPECT_DOUBLE_EQ(now->end->absorptance.table.value(293.0), 0.9 * before->end->absorptance.table.value(293.0));
}

Code code_of_scaling(const std::string& path, double factor, std::string& message) {
  Library scaled = library_to_scale();
  try {
    scale(scaled, path, factor);
  } catch (const Error& error) {
    message = error.what();
    return error.code();
  }
  return Code::internal;
}

TEST(Scaling, RefusesWhatIsNotThereAndMoreThanAllOfAShare) {
  std::string message;
  EXPECT_EQ(code_of_scaling("surfaces.white_silicone_paint.emitance", 1.1, message), Code::name_unknown);
  EXPECT_THAT(message, testing::HasSubstr("surfaces.white_silicone_paint.emittance"));
  EXPECT_EQ(code_of_scaling("surfaces.white_silicone_paint.emittance", 1.3, message), Code::value_out_of_range);
  EXPECT_EQ(code_of_scaling("solids.germanium.density", 0.0, message), Code::value_out_of_range);
}

TEST(Scaling, RefusesMoreThanAllOfAShareOfTheAgeThatIsAskedFor) {
  Library library = library_to_scale();
  const Surface& paint = *library.surface("white_silicone_paint");
  const double begin = paint.begin.absorptance.table.value(293.0), end = paint.end->absorptance.table.value(293.0);
  ASSERT_LT(begin, end);
  const double between = 0.5 * (1.0 / begin + 1.0 / end);  // above 1 at the end of life alone
  const std::string path = "surfaces.white_silicone_paint.absorptance";
  EXPECT_THROW(scale(library, path, between), Error);
  library = library_to_scale();
  EXPECT_THROW(scale(library, path, between, true), Error);
  library = library_to_scale();
  EXPECT_NO_THROW(scale(library, path, between, false));
}

TEST(Scaling, ListsNoTemperatures) {
  for (const PropertyPath& path : scalable_properties(library_to_scale()))
    EXPECT_EQ(path.text().find("temperature"), std::string::npos) << path.text();
}

}  // namespace tileflux::materials::scaling_test
