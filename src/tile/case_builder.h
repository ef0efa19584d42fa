#pragma once
/// Turns the validated record of a case file into a Case: resolves names and materials, and checks what values say
/// together.

#include <string>
#include <vector>

#include "tileflux/input/override.h"
#include "tileflux/network/view_factors.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::tile {

class CaseBuilder {
 public:
  CaseBuilder(const input::Record& record, const input::Document& document, const materials::Library& library,
              std::vector<Diagnostic>& findings)
      : record_(record), document_(document), library_(library), findings_(findings) {}

  /// Builds everything that can be built; findings tell what could not.
  Case build();

  /// The same case in other surroundings or at another age, which `who` asks for: "`size.hot` says `life: end`".
  Case build(const Surroundings& surroundings, const std::string& who);

  /// The same case at another age, everything else as it is stated; `who` asks for it.
  Case build_at(bool end_of_life, const std::string& who);

  std::vector<UsedSource> sources() const { return sources_; }

 private:
  using Record = input::Record;

  void find(Code code, const Place& place, const std::string& message, const std::string& suggestion = {},
            Severity severity = Severity::error);
  void collect_nodes();
  void check_node(const std::string& name, const Place& place);
  void check_one_node(const std::string& name, const Place& place);
  /// The one node that a key names.
  std::string node(const Record& owner, const std::string& key);
  /// The same where a layer with zones may stand for all of them.
  std::string nodes_named(const Record& owner, const std::string& key);
  bool is_zoned(const std::string& name) const;
  /// A store takes heat through its wall only: no path may end in it.
  void check_path_end(const std::string& name, const Place& place);
  void unknown_material(const Record& owner, const std::string& key, const std::string& kind,
                        const std::vector<std::string>& known);
  /// The two names of `between`, checked; the second differs from the first.
  std::pair<std::string, std::string> between(const Record& owner);

  void note_source(const std::string& material, const std::string& property, const materials::Property& value);
  void note_source(const std::string& material, const std::string& property, const materials::Fact& value);
  void note_source(const std::string& material, const std::string& property, const materials::Pedigree& pedigree,
                   double value_si, bool table);
  const materials::Solid* solid(const Record& owner, const std::string& key);
  Material material_of(const materials::Solid& solid);
  TimePattern pattern(const Record& owner);

  void build_sun();
  void build_stack();
  void build_zones(const Record& record, Stack& stack);
  void build_parts();
  void build_joins();
  void build_switch(const Record& record, Join& join);
  PropertyTable build_core(const Record& record, const materials::Solid& foil, double area_m2, const Join& join);
  void build_infrared();
  void build_pipes();
  bool build_transport(const Record& record, HeatPipe& pipe);
  void check_transport(const Record& record, const HeatPipe& pipe);
  void build_stores();
  void build_orbit();
  void build_tilt_law(const Record& sun);
  void build_course(const Record& record);
  void read_course_file(const Record& record, Course& course);
  std::optional<environment::Planet> planet_of(const Record& record);
  /// What sky and surfaces owe each other.
  void check_sky();
  void build_surfaces();
  const materials::SurfaceValues* finish_values(const Record& owner);
  void build_finish(const Record& owner, Surface& surface);
  void build_facing(const Record& record, Surface& surface);
  void build_louvre(const Record& record, Surface& surface);
  void build_fin(const Record& record, Surface& surface);
  void build_enclosures();
  bool read_views(const Record& record, Enclosure& enclosure);
  bool compute_views(const Record& record, const std::vector<network::Polygon>& polygons, Enclosure& enclosure);
  bool close_views(const Record& record, Enclosure& enclosure);
  void build_loads();
  void build_cells();
  static bool reaches(const PropertyTable& pointing, double tilt_rad);
  void build_chain();
  void build_battery();
  devices::TemperatureWindow window(const Record& owner);
  void build_bus();
  void build_heaters();
  void build_driver(const Record& record, Bank& bank);
  void build_amplifier(const Record& record, Bank& bank);
  /// Whether a name is one of those that are described; a finding if not.
  bool check_listed(const std::string& name, const Place& place, const std::vector<std::string>& known,
                    const char* kind);
  void refuse_stray_keys(const Record& record);
  void build_failures();
  void build_ageing();
  void build_lasers();
  devices::EfficiencyLaw efficiency_law(const Record& table);
  void build_limits();
  bool is_massless(const std::string& name) const;
  void build_differences();
  void build_beam();
  void build_campaign();
  void build_settings();
  void build_size();
  void build_margins();
  void build_uncertainty();
  std::optional<UncertainInput> uncertain_input(const Record& entry);
  std::optional<input::QuantityAt> quantity_at(const std::string& path, const Place& place);
  std::optional<input::QuantityAt> factor_at(const std::string& path, const Place& place);
  std::optional<double> amount(const Record& owner, const char* key, const input::QuantityAt& of, bool share_of_value);
  bool build_law(const Record& entry, const input::QuantityAt& of, InputLaw& law);
  std::optional<Bounds> bounds(const Record& owner, const char* key);
  const Surface* sized_surface(const Record& record);
  Surroundings surroundings(const Record& owner);

  const Record& record_;
  const input::Document& document_;
  const materials::Library& library_;
  std::vector<Diagnostic>& findings_;
  std::vector<UsedSource> sources_;
  std::vector<std::string> nodes_;
  std::vector<std::string> zoned_;        ///< layers with zones, by their bare names
  std::vector<std::string> store_nodes_;  ///< nodes of phase-change stores
  std::optional<Surroundings> surroundings_;
  std::optional<bool> end_of_life_;
  std::string who_says_end_ = "the case says `life: end`";
  Case case_;
};

}  // namespace tileflux::tile
