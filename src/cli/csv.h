#pragma once
/// Results as tables in CSV files: a row of names, a row of units, then the rows. What has no value is empty.

#include <string>

#include "cli/margined.h"
#include "cli/swept.h"
#include "tileflux/studies/campaign.h"
#include "tileflux/studies/sustainable.h"

namespace tileflux::cli {

std::string csv_curve(const studies::DutyCurve& curve);
std::string csv_map(const studies::DutyMap& map);
/// One row per request.
std::string csv_campaign(const studies::CampaignResult& campaign);
/// One row per limit and heater. Units differ from row to row and have a column, so there is no row of units.
std::string csv_margins(const Margined& margined);
/// One row per point, in SI.
std::string csv_sweep(const Swept& swept);

}  // namespace tileflux::cli
