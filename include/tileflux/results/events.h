#pragma once
/// What happened during a run, as a table.

#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "tileflux/results/files.h"

namespace tileflux::results {

/// One occurrence at one time.
struct Event {
  double time_s = 0.0;
  std::string what;             ///< `trip`, `throttle begins`, `beam on`
  std::string where;            ///< name of the part or limit, empty if none
  std::optional<double> value;  ///< what was reached, if that says something
  std::string unit;             ///< of the value, empty without one
};

/// Writes a CSV file: names (`time_s,what,where,value,unit`), units, then a row for each event. Each event is on disk
/// when append() returns, so a killed run keeps them all. Throws Error (output_unwritable).
class EventsWriter {
 public:
  explicit EventsWriter(const OutputDirectory& directory, std::string_view name = "events.csv");
  EventsWriter(EventsWriter&&) noexcept;
  EventsWriter& operator=(EventsWriter&&) noexcept;
  ~EventsWriter();

  void append(const Event& event);
  void close();  ///< a second call does nothing

 private:
  class File;
  std::unique_ptr<File> file_;
};

}  // namespace tileflux::results
