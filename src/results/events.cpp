#include "tileflux/results/events.h"

#include "results/text_file.h"
#include "tileflux/results/csv.h"

namespace tileflux::results {

class EventsWriter::File : public TextFile {
 public:
  using TextFile::TextFile;
};

EventsWriter::EventsWriter(const OutputDirectory& directory, std::string_view name)
    : file_(std::make_unique<File>(directory.fresh_file(name))) {
  file_->append("time_s,what,where,value,unit\ns,,,,\n");
  file_->flush();
}

EventsWriter::EventsWriter(EventsWriter&&) noexcept = default;
EventsWriter& EventsWriter::operator=(EventsWriter&&) noexcept = default;
EventsWriter::~EventsWriter() = default;

void EventsWriter::append(const Event& event) {
  const std::string value = event.value ? csv_number(*event.value) : std::string();
  file_->append(csv_number(event.time_s) + ',' + csv_text(event.what) + ',' + csv_text(event.where) + ',' + value +
                ',' + csv_text(event.unit) + '\n');
  file_->flush();
}

void EventsWriter::close() { file_->close_durably(); }

}  // namespace tileflux::results
