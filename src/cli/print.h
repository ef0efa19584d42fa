#pragma once
/// Results as a person reads them on a terminal.

#include <string>

#include "cli/margined.h"
#include "cli/swept.h"
#include "tileflux/materials/library.h"
#include "tileflux/studies/balance.h"
#include "tileflux/studies/campaign.h"
#include "tileflux/studies/duty.h"
#include "tileflux/studies/run.h"
#include "tileflux/studies/size.h"
#include "tileflux/studies/wear.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::cli {

std::string print_check(const tile::CaseFile& file, const tile::TileSystem& system);
std::string print_balance(const tile::CaseFile& file, const tile::TileSystem& system, const studies::Balance& balance);
std::string print_run(const tile::CaseFile& file, const tile::TileSystem& system, const studies::RunResult& run);
std::string print_wear(const tile::CaseFile& file, const studies::WearResult& wear);
std::string csv_curve(const studies::DutyCurve& curve);
std::string csv_map(const studies::DutyMap& map);
std::string print_campaign(const tile::CaseFile& file, const studies::CampaignResult& campaign);
std::string print_duty(const tile::CaseFile& file, const tile::TileSystem& system, const studies::Duty& duty);
std::string print_size(const tile::SizeCases& cases, const studies::Size& size);
std::string print_sweep(const tile::CaseFile& file, const Swept& swept);
std::string print_margins(const tile::CaseFile& file, const Margined& margined);
std::string print_materials(const materials::Library& library);
/// Empty if there is no such entry.
std::string print_entry(const materials::Library& library, const std::string& name);

}  // namespace tileflux::cli
