#pragma once
/// Pieces that the JSON of several verbs shares.

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "tileflux/studies/balance.h"
#include "tileflux/studies/run.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::cli {

using Json = nlohmann::ordered_json;

/// JSON knows no infinity: such a value is null.
Json number(double value);
Json number(const std::optional<double>& value);
Json margin_of(const std::optional<studies::Margin>& margin);
/// The same with the beam of its state.
Json state_margin_of(const std::optional<studies::StateMargin>& limit);
Json diagnostics_of(const std::vector<Diagnostic>& diagnostics);
/// What every result begins and ends with.
Json head_of(const char* verb, const tile::CaseFile& file);
/// The case as read, accuracy, values of materials with their sources, and how the tile is built; add_tail calls it.
void add_provenance(Json& json, const tile::CaseFile& file);
void add_tail(Json& json, const tile::CaseFile& file, const std::vector<Diagnostic>& warnings);
std::string text_of(const Json& json);
Json extremes_of(const std::vector<studies::TemperatureRange>& ranges);
Json margins_of(const std::vector<studies::Margin>& margins);
/// The energies of a run in joules.
Json books_of(const studies::EnergyBooks& books);
Json temperatures_of(const tile::TileSystem& system, const std::vector<double>& x);
Json melted_of(const tile::TileSystem& system, const std::vector<double>& x);
Json point_of(const tile::CaseFile& file, const tile::TileSystem& system, const studies::OperatingPoint& point);

}  // namespace tileflux::cli
