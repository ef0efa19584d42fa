#include <fmt/format.h>

#include <algorithm>

#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/text.h"

namespace tileflux::cli {

namespace {

constexpr double joules_per_Wh = 3600.0;

/// A time in a cell: `90.00 s`, `6.02 h`, `100.25 d`.
std::string time_cell(double time_s) {
  constexpr double hour_s = 3600.0, day_s = 86400.0;
  if (time_s < hour_s) return fmt::format("{:.2f} s", time_s);
  return time_s < 2.0 * day_s ? fmt::format("{:.2f} h", time_s / hour_s) : fmt::format("{:.2f} d", time_s / day_s);
}

/// One unit for a whole table, by its largest energy.
struct EnergyUnit {
  double joules = joules_per_Wh;
  const char* name = "Wh";
  std::string text(double energy_J) const { return fmt::format("{:.2f}", energy_J / joules + 0.0); }
};

EnergyUnit unit_for(double largest_J) {
  constexpr double many = 1e4;
  if (largest_J >= many * 1e3 * joules_per_Wh) return {1e6 * joules_per_Wh, "MWh"};
  if (largest_J >= many * joules_per_Wh) return {1e3 * joules_per_Wh, "kWh"};
  return {};
}

/// A refusal as people call it, and as the head of a column.
constexpr std::array<const char*, studies::refusals> heads{"keep-out", "beyond lasers", "tripped",
                                                           "hot",      "no energy",     "others first"};

std::string served_table(const std::vector<studies::RequestAnswer>& answers, const EnergyUnit& unit, const char* head) {
  Table table({head, "first at", "windows", "in full", std::string("asked ") + unit.name, "delivered", "share",
               "worst window"});
  for (const studies::RequestAnswer& one : answers) {
    const bool short_somewhere = one.worst_share < 1.0 - studies::light_tolerance;
    table.row({one.name, time_cell(one.at_s), std::to_string(one.windows), std::to_string(one.met_windows),
               unit.text(one.served.asked_J), unit.text(one.served.delivered_J), percent(one.served.share()),
               short_somewhere ? percent(one.worst_share) + " at " + time_cell(one.worst_at_s) : ""});
  }
  return table.text() + '\n';
}

/// Who was refused how much for which reason: only reasons that occurred.
std::string refused_table(const std::vector<studies::RequestAnswer>& answers, const EnergyUnit& unit) {
  std::vector<std::size_t> occurring;
  for (std::size_t why = 0; why < studies::refusals; ++why) {
    const bool any = std::any_of(answers.begin(), answers.end(), [&](const studies::RequestAnswer& one) {
      return one.served.refused_J[why] > studies::light_tolerance * one.served.asked_J;
    });
    if (any) occurring.push_back(why);
  }
  if (occurring.empty()) return "";
  std::vector<std::string> row{std::string("Refused, ") + unit.name};
  for (const std::size_t why : occurring) row.emplace_back(heads[why]);
  const bool by_limits = std::any_of(answers.begin(), answers.end(), [](const studies::RequestAnswer& one) {
    return !one.throttled_by.empty() || !one.tripped_by.empty();
  });
  if (by_limits) row.emplace_back("by the limit of");
  Table table(row);
  for (const studies::RequestAnswer& one : answers) {
    if (one.served.share() >= 1.0 - studies::light_tolerance) continue;
    row = {one.name};
    for (const std::size_t why : occurring) row.push_back(unit.text(one.served.refused_J[why]));
    std::string limits = one.throttled_by;
    if (!one.tripped_by.empty() && one.tripped_by != limits) limits += (limits.empty() ? "" : ", ") + one.tripped_by;
    if (by_limits) row.push_back(limits);
    table.row(row);
  }
  return table.text() + '\n';
}

std::string availability(const studies::CampaignResult& campaign) {
  std::string text = fmt::format("  in full          {} of the time asked for, all that was asked for was there\n",
                                 percent(campaign.met_share(), 3));
  if (campaign.needed_light_W) {
    text += fmt::format("  availability     {} of the whole time with at least {} W out of the tile\n",
                        percent(campaign.availability(), 3), watts(*campaign.needed_light_W));
  }
  return text;
}

std::string limits(const studies::CampaignResult& campaign) {
  if (!campaign.binding) return "  binding limit    none is stated in the case\n";
  std::string text = "  binding limit    " + describe(*campaign.binding) + '\n';
  if (campaign.next) text += "  next limit       " + describe(*campaign.next) + '\n';
  return text;
}

std::string cycles(const studies::CycleCounts& cycles) {
  if (cycles.taken_over == 0)
    return fmt::format("  every step of it was integrated ({} cycles looked at)\n", cycles.evaluated);
  return fmt::format(
      "  {} cycles integrated, {} equal ones taken over ({:.2f} d; period {}), about {} K from where they would be\n",
      cycles.evaluated, cycles.taken_over, cycles.taken_over_s / 86400.0, time_cell(cycles.period_s),
      tiny(cycles.error_K));
}

}  // namespace

std::string print_campaign(const tile::CaseFile& file, const studies::CampaignResult& campaign) {
  const EnergyUnit unit = unit_for(campaign.all.asked_J);
  std::string text = print_head(file);
  text += fmt::format("Campaign of {}{}{}\n", duration_text(campaign.end_s),
                      file.description.campaign->to_its_end ? ", to the end of the last request" : "",
                      campaign.outcome == studies::RunOutcome::interrupted ? ", INTERRUPTED" : "");
  text += fmt::format("  light delivered  {} {} of {} {} asked for, {}\n", unit.text(campaign.all.delivered_J),
                      unit.name, unit.text(campaign.all.asked_J), unit.name, percent(campaign.all.share(), 3));
  text += availability(campaign) + limits(campaign);
  if (campaign.trips > 0) text += fmt::format("  trips            {}\n", campaign.trips);
  if (campaign.battery) {
    text += fmt::format("  battery          {:.1f} % at the start, {:.1f} % at the end; between {:.1f} and {:.1f} %\n",
                        campaign.battery->begin_percent, campaign.battery->end_percent, campaign.battery->least_percent,
                        campaign.battery->most_percent);
  }
  text += '\n' + served_table(campaign.names, unit, "Who asks");
  constexpr std::size_t few = 20;
  if (campaign.requests.size() > campaign.names.size() && campaign.requests.size() <= few)
    text += served_table(campaign.requests, unit, "Request");
  text += refused_table(campaign.names, unit);
  Table table({"Temperatures, degC", "lowest", "highest", "limit"});
  for (const studies::TemperatureRange& range : campaign.ranges) {
    const auto limit =
        std::find_if(campaign.margins.begin(), campaign.margins.end(), [&](const studies::Margin& margin) {
          return margin.kind == studies::LimitKind::temperature && margin.node == range.node;
        });
    table.row({range.node, celsius(range.lowest_K), celsius(range.highest_K),
               limit == campaign.margins.end() ? "" : describe(*limit)});
  }
  text += table.text({0, 3}) + '\n';
  const studies::EnergyBooks& b = campaign.books;
  text += fmt::format(
      "Energy books, kJ\n  in {:.3f} = light {:.3f} + infrared {:.3f} + to held parts {:.3f} + stored {:.3f}{} + "
      "residual {}\n",
      b.incoming_J / 1e3, b.light_J / 1e3, b.to_space_J / 1e3, b.to_fixed_J / 1e3, b.stored_J / 1e3,
      campaign.battery ? fmt::format(" + into the battery {:.3f}", b.to_battery_J / 1e3) : "",
      tiny(b.residual_J() / 1e3));
  text += fmt::format("  residual {:.3f} J, {} %, worth {} K over the whole tile\n", b.residual_J(),
                      tiny(100.0 * b.relative()), tiny(campaign.error_K));
  text += cycles(campaign.cycles);
  text += fmt::format("  {} steps, {} restarts, {} residuals, {} Jacobians\n", campaign.counts.steps,
                      campaign.counts.restarts, campaign.counts.residuals, campaign.counts.jacobians);
  return text + print_notes(file, campaign.warnings);
}

}  // namespace tileflux::cli
