#include "tileflux/results/events.h"

#include <gtest/gtest.h>

#include "expect_unwritable.h"
#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::results::events_test {

TEST(EventsWriter, WritesNamesUnitsAndOneRowForEachEvent) {
  const test::TemporaryDirectory here;
  EventsWriter events{OutputDirectory(here.path())};
  events.append({.time_s = 0.0, .what = "beam on", .where = "", .value = {}, .unit = ""});
  events.append({.time_s = 12.25, .what = "trip", .where = "laser.junction", .value = 338.15, .unit = "K"});
  events.append({.time_s = 12.5, .what = "odd, but \"true\"", .where = "plate", .value = {}, .unit = ""});
  events.close();
  events.close();
  EXPECT_EQ(test::read_file(here / "events.csv"),
            "time_s,what,where,value,unit\n"
            "s,,,,\n"
            "0,beam on,,,\n"
            "12.25,trip,laser.junction,338.15,K\n"
            "12.5,\"odd, but \"\"true\"\"\",plate,,\n");
}

TEST(EventsWriter, HasEachEventOnDiskAtOnce) {
  const test::TemporaryDirectory here;
  EventsWriter events(OutputDirectory(here.path()), "what.csv");
  events.append({.time_s = 1.0, .what = "beam off", .where = "", .value = {}, .unit = ""});
  EXPECT_EQ(test::read_file(here / "what.csv"), "time_s,what,where,value,unit\ns,,,,\n1,beam off,,,\n");
}

TEST(EventsWriter, SaysThatTheDiskIsFull) {
  const test::TemporaryDirectory here;
  constexpr rlim_t limit_bytes = 4096;
  const int status = test::run_in_child([&] {
    test::limit_file_size(limit_bytes);
    EventsWriter events{OutputDirectory(here.path())};
    test::expect_unwritable(
        [&] {
          for (rlim_t i = 0; i < limit_bytes; ++i) {
            events.append({.time_s = 1.0, .what = "trip", .where = "laser", .value = {}, .unit = ""});
          }
        },
        {(here / "events.csv").string(), "File too large"});
    return test::child_verdict();
  });
  EXPECT_EQ(status, 0);
}

}  // namespace tileflux::results::events_test
