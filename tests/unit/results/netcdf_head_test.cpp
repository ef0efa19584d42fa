#include "results/netcdf_head.h"

#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "support/temporary_directory.h"
#include "tileflux/base/errors.h"
#include "tileflux/results/read_back.h"

namespace tileflux::results::netcdf_head_test {

const std::filesystem::path corpus = TILEFLUX_PROJECT_DIR "/tests/fuzz/corpus/series";

std::string bytes_of(const std::filesystem::path& path) {
  std::ostringstream bytes;
  bytes << std::ifstream(path, std::ios::binary).rdbuf();
  return bytes.str();
}

/// Whether the head of the sound file fits with one of its four-byte numbers (at `place`) put otherwise.
bool fits_with(std::size_t place, unsigned char last_byte) {
  const test::TemporaryDirectory directory;
  std::string bytes = bytes_of(corpus / "answers.nc");
  bytes[place + 3] = static_cast<char>(last_byte);
  test::write_file(directory / "changed.nc", bytes);
  return classic_head_fits(directory / "changed.nc");
}

TEST(NetcdfHead, FitsASoundFile) {
  EXPECT_TRUE(is_classic_netcdf(corpus / "answers.nc"));
  EXPECT_TRUE(classic_head_fits(corpus / "answers.nc"));
}

TEST(NetcdfHead, RefusesATypeThatIsNoneAndADimensionThatIsNotThere) {
  // The first variable, behind its name: count and place of its dimensions.
  const std::size_t name = bytes_of(corpus / "answers.nc").find("sun.distance", 0xa0), count = name + 12, place = count + 4;
  ASSERT_NE(name, std::string::npos);
  EXPECT_TRUE(fits_with(place, 0));
  EXPECT_FALSE(fits_with(place, 1)) << "there is one dimension";
  const std::size_t type = bytes_of(corpus / "answers.nc").find("_FillValue", name) + 12;
  EXPECT_TRUE(fits_with(type, 6));
  EXPECT_FALSE(fits_with(type, 0));
  EXPECT_FALSE(fits_with(type, 12));
}

TEST(NetcdfHead, IsLookedAtBeforeTheLibraryReads) {
  for (const char* damaged : {"netcdf_head_too_large", "netcdf_type_unknown"}) {
    EXPECT_FALSE(classic_head_fits(corpus / damaged)) << damaged;
    try {
      read_series(corpus / damaged, 100);
      ADD_FAILURE() << damaged;
    } catch (const Error& error) {
      EXPECT_EQ(error.code(), Code::result_damaged) << damaged;
    }
  }
}

}  // namespace tileflux::results::netcdf_head_test
