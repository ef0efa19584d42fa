#pragma once
/// Results of an invented tile, small enough to be added up by hand.

#include <nlohmann/json.hpp>
#include <string>

namespace tileflux::report::test {

using SampleJson = nlohmann::ordered_json;

inline SampleJson sample_limit(const std::string& node, double at_K, double limit_K, bool below = true) {
  return {{"kind", "temperature"}, {"node", node},       {"bound", below ? "below" : "above"},
          {"temperature_K", at_K}, {"limit_K", limit_K}, {"margin_K", below ? limit_K - at_K : at_K - limit_K}};
}

/// 1000 W of sunlight, 90 W of light: 810 W of heat leave by two surfaces.
inline SampleJson sample_point() {
  return {{"drive", 1.0},
          {"regime", "drive-limited"},
          {"binding_limit", sample_limit("cells", 340.0, 350.0)},
          {"next_limit", nullptr},
          {"limits_met", true},
          {"temperature_K", {{"cover", 339.0}, {"cells", 340.0}, {"bench", 310.0}}},
          {"margins", {sample_limit("bench", 310.0, 330.0), sample_limit("cells", 340.0, 350.0)}},
          {"power_W",
           {{"sunlight_met", 1000.0},
            {"reflected", 100.0},
            {"absorbed", 900.0},
            {"planet", 0.0},
            {"heat_loads", 0.0},
            {"fed_from_outside", 0.0},
            {"electricity_available", 280.0},
            {"electricity_drawn", 200.0},
            {"electricity_undrawn", 80.0},
            {"conditioning_loss", 10.0},
            {"housekeeping", 5.0},
            {"heaters", 0.0},
            {"driver_loss", 5.0},
            {"laser_demand", 180.0},
            {"laser_input", 180.0},
            {"optics_loss", 3.0},
            {"light_out", 90.0},
            {"heat_to_be_rejected", 810.0},
            {"infrared", 810.0},
            {"to_held_parts", 0.0}}},
          {"infrared_by_surface_W", {{"front", 500.0}, {"rear", 310.0}}},
          {"tilt_rad", 0.0},
          {"lasers",
           {{"bank",
             {{"input_W", 180.0}, {"light_W", 93.0}, {"heat_W", 87.0}, {"driver_loss_W", 5.0}, {"loop_gain", 0.1}}}}},
          {"heaters", SampleJson::object()},
          {"heat_pipes", SampleJson::object()},
          {"melted_share", SampleJson::object()},
          {"throttle", 1.0},
          {"ledger_residual_W", 0.0},
          {"ledger_residual_relative", 0.0},
          {"ledger_residual_K", 0.0},
          {"worst_node_residual_W", 1e-10},
          {"slowest_time_constant_s", 700.0},
          {"newton_steps", 5},
          {"continuation_steps", 0}};
}

inline SampleJson sample_head(const std::string& verb) {
  return {{"tileflux", "0.1.0"},
          {"verb", verb},
          {"title", "A tile"},
          {"case_file", "case.yaml"},
          {"life", "begin"},
          {"warnings", SampleJson::array()},
          {"defaults", SampleJson::object()},
          {"caution", "Planning aid only."}};
}

inline SampleJson sample_balance() {
  SampleJson json = sample_head("balance");
  json["usable_laser_power_W"] = 90.0;
  json["usable_drive"] = 1.0;
  json["limits_met"] = true;
  json["rating_without_throttle"] = nullptr;
  json["beam_on"] = sample_point();
  SampleJson off = sample_point();
  for (const char* key : {"light_out", "optics_loss", "laser_input", "laser_demand", "driver_loss"})
    off["power_W"][key] = 0.0;
  off["power_W"]["electricity_drawn"] = 15.0;
  off["power_W"]["electricity_undrawn"] = 265.0;
  off["infrared_by_surface_W"] = {{"front", 560.0}, {"rear", 340.0}};
  json["beam_off"] = std::move(off);
  json["section"] = {{{"name", "cover"}, {"role", "layer"}, {"nodes", {"cover"}}, {"thickness_m", 1e-4}},
                     {{"name", "cells"}, {"role", "layer"}, {"nodes", {"cells"}}, {"thickness_m", 1.4e-4}}};
  return json;
}

/// A run of two parts with one beam and one broken limit.
inline SampleJson sample_run() {
  SampleJson json = sample_head("run");
  json["outcome"] = "complete";
  json["end_s"] = 1000.0;
  json["limits_met"] = false;
  json["binding_limit"] = sample_limit("cells", 351.0, 350.0);
  json["next_limit"] = nullptr;
  json["light_J"] = 45000.0;
  json["mean_light_W"] = 45.0;
  json["heaters"] = SampleJson::object();
  json["ageing"] = SampleJson::object();
  json["emitting_path"] = SampleJson::object();
  json["extremes"] = {
      {"cells", {{"lowest_K", 300.0}, {"lowest_at_s", 0.0}, {"highest_K", 351.0}, {"highest_at_s", 700.0}}},
      {"bench", {{"lowest_K", 290.0}, {"lowest_at_s", 0.0}, {"highest_K", 310.0}, {"highest_at_s", 1000.0}}}};
  json["margins"] = {sample_limit("cells", 351.0, 350.0)};
  json["event_count"] = 2;
  json["event_counts"] = {{"beam_on", 1}, {"limit_broken", 1}};
  json["events"] = {{{"time_s", 0.0}, {"what", "beam_on"}, {"where", "beam"}, {"temperature_K", nullptr}},
                    {{"time_s", 650.5}, {"what", "limit_broken"}, {"where", "cells"}, {"temperature_K", 350.0}}};
  json["ledger_J"] = {{"incoming", 900000.0}, {"light", 45000.0}, {"infrared", 855000.0}, {"residual", 0.0}};
  json["ledger_residual_relative"] = 0.0;
  json["ledger_residual_K"] = 0.0;
  json["solver"] = {{"steps", 100}, {"relative_tolerance", 1e-7}};
  return json;
}

}  // namespace tileflux::report::test
