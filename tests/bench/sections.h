#pragma once
/// The sections of the benchmark's page. Each measures, and returns Markdown.

#include <string>

namespace tileflux::bench {

using Section = std::string (*)(bool quick);

std::string head_of_page(bool quick);
std::string transients(bool quick);
std::string steady_states(bool quick);
std::string repeating_state(bool quick);
std::string sweep_on_threads(bool quick);
std::string growth_with_nodes(bool quick);

}  // namespace tileflux::bench
