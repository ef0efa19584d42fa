#pragma once
/// What every window of a timetable was given, and the answers that are made of it.

#include <map>
#include <string>
#include <vector>

#include "tileflux/studies/campaign.h"

namespace tileflux::studies {

class CampaignAccounts {
 public:
  CampaignAccounts(const tile::Campaign& campaign, const tile::Timetable& timetable)
      : campaign_(campaign),
        timetable_(timetable),
        windows_(timetable.occurrences().size()),
        limits_(campaign.requests.size()) {}

  void add(std::size_t occurrence, const Served& served) { windows_[occurrence].add(served); }
  /// A limit that throttles or trips, and the energy it took.
  void blame(std::size_t occurrence, Refusal why, const std::string& limit, double energy_J);

  /// Per request of the campaign, of the windows that opened.
  std::vector<RequestAnswer> requests() const;
  /// Answers of one name as one.
  static std::vector<RequestAnswer> by_name(const std::vector<RequestAnswer>& requests);

 private:
  struct Blame {
    std::map<std::string, double> heat, trip;
  };
  const tile::Campaign& campaign_;
  const tile::Timetable& timetable_;
  std::vector<Served> windows_;
  std::vector<Blame> limits_;
};

}  // namespace tileflux::studies
