#pragma once
/// Results as one JSON object each; keys carry SI units.

#include <string>

#include "cli/asked_sweep.h"
#include "cli/compared.h"
#include "cli/margined.h"
#include "cli/swept.h"
#include "tileflux/materials/library.h"
#include "tileflux/studies/balance.h"
#include "tileflux/studies/campaign.h"
#include "tileflux/studies/duty.h"
#include "tileflux/studies/gains.h"
#include "tileflux/studies/run.h"
#include "tileflux/studies/size.h"
#include "tileflux/studies/wear.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::cli {

std::string json_check(const tile::CaseFile& file, const tile::TileSystem& system);
std::string json_balance(const tile::CaseFile& file, const tile::TileSystem& system, const studies::Balance& balance);
std::string json_run(const tile::CaseFile& file, const tile::TileSystem& system, const studies::RunResult& run);
std::string json_wear(const tile::CaseFile& file, const studies::WearResult& wear);
std::string json_campaign(const tile::CaseFile& file, const tile::TileSystem& system,
                          const studies::CampaignResult& campaign);
std::string json_duty(const tile::CaseFile& file, const tile::TileSystem& system, const studies::Duty& duty);
std::string json_size(const tile::SizeCases& cases, const studies::Size& size);
std::string json_sweep(const tile::CaseFile& file, const Swept& swept);
/// Without `values` the rows are left out: where files hold them.
std::string json_rows(const tile::CaseFile& file, const AskedSweep& asked, const SweptRows& swept, bool values);
std::string json_gains(const tile::CaseFile& file, const studies::Gains& gains);
std::string json_compare(const Compared& compared);
std::string json_margins(const tile::CaseFile& file, const Margined& margined);
std::string json_materials(const materials::Library& library, const std::string& entry);
/// `{"error": {...}}` with every diagnostic.
std::string json_error(const Error& error);

}  // namespace tileflux::cli
