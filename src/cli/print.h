#pragma once
/// Results as a person reads them on a terminal.

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

std::string print_check(const tile::CaseFile& file, const tile::TileSystem& system);
std::string print_balance(const tile::CaseFile& file, const tile::TileSystem& system, const studies::Balance& balance);
std::string print_run(const tile::CaseFile& file, const tile::TileSystem& system, const studies::RunResult& run);
std::string print_wear(const tile::CaseFile& file, const studies::WearResult& wear);
std::string print_campaign(const tile::CaseFile& file, const studies::CampaignResult& campaign);
std::string print_duty(const tile::CaseFile& file, const tile::TileSystem& system, const studies::Duty& duty);
std::string print_size(const tile::SizeCases& cases, const studies::Size& size);
std::string print_sweep(const tile::CaseFile& file, const Swept& swept);
std::string print_rows(const tile::CaseFile& file, const AskedSweep& asked, const SweptRows& swept);
/// Ranked by one of the outputs, with at most so many inputs.
std::string print_gains(const tile::CaseFile& file, const studies::Gains& gains, std::size_t ranked_by,
                        std::size_t most);
/// With at most so many inputs in the table of contributions.
std::string print_compare(const Compared& compared, std::size_t most);
std::string print_margins(const tile::CaseFile& file, const Margined& margined);
std::string print_materials(const materials::Library& library);
/// Empty if there is no such entry.
std::string print_entry(const materials::Library& library, const std::string& name);

}  // namespace tileflux::cli
