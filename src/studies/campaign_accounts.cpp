#include "studies/campaign_accounts.h"

#include <algorithm>

namespace tileflux::studies {

namespace {

std::string largest(const std::map<std::string, double>& shares) {
  const auto most =
      std::max_element(shares.begin(), shares.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  return most == shares.end() ? std::string() : most->first;
}

}  // namespace

void CampaignAccounts::blame(std::size_t occurrence, Refusal why, const std::string& limit, double energy_J) {
  Blame& blame = limits_[timetable_.occurrences()[occurrence].request];
  (why == Refusal::trip ? blame.trip : blame.heat)[limit] += energy_J;
}

std::vector<RequestAnswer> CampaignAccounts::requests() const {
  std::vector<RequestAnswer> answers(campaign_.requests.size());
  for (std::size_t r = 0; r < answers.size(); ++r) {
    answers[r].name = campaign_.requests[r].name;
    answers[r].at_s = answers[r].worst_at_s = campaign_.requests[r].at_s;
    answers[r].throttled_by = largest(limits_[r].heat);
    answers[r].tripped_by = largest(limits_[r].trip);
  }
  for (std::size_t i = 0; i < windows_.size(); ++i) {
    const Served& served = windows_[i];
    if (served.asked_s <= 0.0) continue;
    const tile::Occurrence& window = timetable_.occurrences()[i];
    RequestAnswer& answer = answers[window.request];
    answer.served.add(served);
    ++answer.windows;
    constexpr double round_off = 1e-9;
    if (served.met_s >= (1.0 - round_off) * served.asked_s) ++answer.met_windows;
    if (answer.windows == 1 || served.share() < answer.worst_share) {
      answer.worst_share = served.share();
      answer.worst_at_s = window.begin_s;
    }
  }
  return answers;
}

std::vector<RequestAnswer> CampaignAccounts::by_name(const std::vector<RequestAnswer>& requests) {
  std::vector<RequestAnswer> names;
  for (const RequestAnswer& one : requests) {
    auto found = std::find_if(names.begin(), names.end(), [&](const RequestAnswer& n) { return n.name == one.name; });
    if (found == names.end()) {
      names.push_back(one);
      continue;
    }
    found->served.add(one.served);
    if (one.windows > 0 && (found->windows == 0 || one.worst_share < found->worst_share)) {
      found->worst_share = one.worst_share;
      found->worst_at_s = one.worst_at_s;
    }
    found->windows += one.windows;
    found->met_windows += one.met_windows;
    if (found->throttled_by.empty()) found->throttled_by = one.throttled_by;
    if (found->tripped_by.empty()) found->tripped_by = one.tripped_by;
  }
  return names;
}

}  // namespace tileflux::studies
