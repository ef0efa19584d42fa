/// Where the tile flies and how it turns.

#include <algorithm>
#include <cmath>
#include <numbers>

#include "tile/case_builder.h"
#include "tileflux/base/spelling.h"
#include "tileflux/environment/irradiance.h"
#include "tileflux/input/csv_table.h"

namespace tileflux::tile {

namespace {

environment::Ellipse ellipse_around_sun(double perihelion_m, double aphelion_m) {
  environment::Ellipse ellipse;
  ellipse.semi_major_axis_m = 0.5 * (perihelion_m + aphelion_m);
  ellipse.eccentricity = (aphelion_m - perihelion_m) / (aphelion_m + perihelion_m);
  return ellipse;
}

constexpr input::Range course_time{0.0, 1e12}, course_distance{1e9, 1e14}, course_tilt{0.0, std::numbers::pi};

double wrapped(double angle_rad) { return std::remainder(angle_rad, 2.0 * std::numbers::pi); }

}  // namespace

void CaseBuilder::build_sun() {
  const Record& sun = record_.section("sun");
  case_.sun.tilt_rad = sun.quantity("tilt");
  if (sun.has("irradiance_at_1AU")) {
    case_.sun.irradiance_at_1AU_W_per_m2 = sun.quantity("irradiance_at_1AU");
  } else {
    case_.irradiance_standard = sun.has("standard") ? sun.text("standard") : "iau_2015";
    case_.sun.irradiance_at_1AU_W_per_m2 = environment::irradiance_standard(case_.irradiance_standard)->at_1AU_W_per_m2;
  }
  const bool tabled = sun.has("course") && (sun.section("course").has("distance") || sun.section("course").has("file"));
  if (sun.has("distance")) {
    case_.sun.distance_m = sun.quantity("distance");
  } else if (!sun.has("ellipse") && !tabled && !record_.has("orbit")) {
    find(Code::key_missing, sun.place(), "`distance` is missing: state it, or `ellipse`, `course` or an `orbit`");
  }
  if (sun.has("ellipse")) {
    const Record& ellipse = sun.section("ellipse");
    const double perihelion_m = ellipse.quantity("perihelion"), aphelion_m = ellipse.quantity("aphelion");
    if (aphelion_m < perihelion_m)
      find(Code::limits_contradict, ellipse.place("aphelion"), "the aphelion must not lie nearer than the perihelion");
    else
      case_.sun_ellipse = ellipse_around_sun(perihelion_m, aphelion_m);
    if (case_.sun_ellipse && ellipse.text("start_at") == "aphelion")
      case_.sun_ellipse->mean_anomaly_at_start_rad = std::numbers::pi;
    if (case_.sun_ellipse) case_.sun.distance_m = case_.sun_ellipse->distance_m(0.0);
  }
  if (sun.has("course")) build_course(sun.section("course"));
  build_tilt_law(sun);
  for (std::size_t i = 0; sun.has("stow") && i < sun.table("stow").size(); ++i) {
    const std::vector<double>& row = sun.table("stow")[i];
    const TimeWindow window{row[0], row[1]};
    if (!(window.to_s > window.from_s))
      find(Code::value_out_of_range, sun.place("stow", i), "a window must end after it begins");
    else if (!case_.stow.empty() && window.from_s < case_.stow.back().to_s)
      find(Code::value_out_of_range, sun.place("stow", i), "this window begins before the one above it ends");
    else
      case_.stow.push_back(window);
  }
}

void CaseBuilder::build_tilt_law(const Record& sun) {
  const std::string& law = sun.text("tilt_law");
  if (law == "tracking" || law == "edge_on") {
    if (sun.stated("tilt"))
      find(Code::key_conflict, sun.place("tilt"), "`tilt_law: " + law + "` says the tilt already");
    case_.sun.tilt_rad = law == "tracking" ? 0.0 : 0.5 * std::numbers::pi;
  }
  if (law == "fixed_in_space") {
    case_.tilt_law = TiltLaw::fixed_in_space;
    if (!sun.has("ellipse")) find(Code::key_missing, sun.place("tilt_law"), "`fixed_in_space` needs `ellipse`");
  }
  if (law == "hold") case_.tilt_law = TiltLaw::hold;
  if (case_.course && !case_.course->tilt_rad.empty() && law != "fixed")
    find(Code::key_conflict, sun.place("tilt_law"), "the tilts of `course` and this law exclude each other");
  if ((law == "hold") != sun.has("hold")) {
    find(law == "hold" ? Code::key_missing : Code::key_conflict,
         sun.has("hold") ? sun.place("hold") : sun.place("tilt_law"),
         "`tilt_law: hold` and the section `hold` need each other");
    case_.tilt_law = TiltLaw::fixed;
    return;
  }
  if (law != "hold") return;
  const Record& hold = sun.section("hold");
  case_.hold = TiltHold{hold.text("node"), hold.quantity("below"), hold.quantity("band"), hold.quantity("most_tilt")};
  if (!(case_.sun.tilt_rad < case_.hold->most_tilt_rad))
    find(Code::limits_contradict, hold.place("most_tilt"), "`most_tilt` must lie above `tilt`");
  if (record_.has("orbit"))
    find(Code::key_conflict, hold.place(), "around a planet the tilt does not follow a temperature");
}

void CaseBuilder::read_course_file(const Record& record, Course& course) {
  const std::vector<input::CsvColumn> columns{
      {"time", input::QuantityType{{"s"}, course_time}, true, true, true},
      {"distance", input::QuantityType{{"m"}, course_distance}, false},
      {"tilt", input::QuantityType{{"rad"}, course_tilt}, false}};
  constexpr std::size_t bytes = 16u << 20, least_rows = 2, most_rows = 100'000;
  std::vector<Diagnostic> trouble;
  const input::CsvTable table = input::read_csv_beside(document_, record.place("file"), record.text("file"), columns,
                                                       trouble, {bytes, least_rows, most_rows});
  if (trouble.empty() && !table.has("distance") && !table.has("tilt"))
    find(Code::column_missing, record.place("file"), "the course needs a column `distance`, `tilt` or both");
  if (trouble.empty() && (table.has("distance") || table.has("tilt"))) {
    course.time_s = table.numbers("time");
    if (table.has("distance")) course.distance_m = table.numbers("distance");
    if (table.has("tilt")) course.tilt_rad = table.numbers("tilt");
  }
  findings_.insert(findings_.end(), trouble.begin(), trouble.end());
}

void CaseBuilder::build_course(const Record& record) {
  Course course;
  const auto take = [&](const char* key, std::vector<double>& into) {
    if (!record.has(key)) return;
    std::vector<double> times_s;
    for (const std::vector<double>& row : record.table(key)) {
      times_s.push_back(row[0]);
      into.push_back(row[1]);
    }
    if (!course.time_s.empty() && course.time_s != times_s)
      find(Code::key_conflict, record.place(key), "`tilt` and `distance` must state the same times");
    course.time_s = std::move(times_s);
  };
  take("distance", course.distance_m);
  take("tilt", course.tilt_rad);
  if (record.has("file")) read_course_file(record, course);
  if (course.time_s.empty()) {
    if (!record.has("file"))
      find(Code::key_missing, record.place(), "a course needs `distance`, `tilt` or both, or a `file`");
    return;
  }
  const double end_s = record_.section("run").quantity("duration");
  if (course.time_s.front() > 0.0 || course.time_s.back() < end_s) {
    char text[160];
    std::snprintf(text, sizeof text, "the course covers %.6g s to %.6g s, and the run goes from 0 to %.6g s",
                  course.time_s.front(), course.time_s.back(), end_s);
    find(Code::value_out_of_range, record.place(), text);
    return;
  }
  if (!course.distance_m.empty()) case_.sun.distance_m = course.distance_m.front();
  case_.course = std::move(course);
}

std::optional<environment::Planet> CaseBuilder::planet_of(const Record& record) {
  const std::string& name = record.text("body");
  const materials::Body* body = library_.body(name);
  if (body == nullptr) {
    unknown_material(record, "body", "body", library_.body_names());
    return std::nullopt;
  }
  environment::Planet planet;
  planet.radius_m = body->radius.value;
  planet.gravitational_parameter_m3_per_s2 = body->gravitational_parameter.value;
  planet.sun_semi_major_axis_m = body->sun_distance.value;
  planet.sun_eccentricity = body->sun_eccentricity.value;
  note_source(name, "radius", body->radius);
  note_source(name, "gravitational_parameter", body->gravitational_parameter);
  const std::string& which = record.text("values");
  const auto chosen = [&](const materials::CaseValues& values, const char* property) {
    const std::optional<materials::Fact> extreme = which == "hot"    ? values.hot
                                                   : which == "cold" ? values.cold
                                                                     : std::nullopt;
    if (which != "mean" && !extreme)
      find(Code::key_conflict, record.place("values"),
           "'" + name + "' has no `" + which + "` value of its " + property + "; `mean` is known");
    const materials::Fact& fact = extreme ? *extreme : values.mean;
    note_source(name, property, fact);
    return fact.value;
  };
  planet.albedo = record.has("albedo") ? record.quantity("albedo") : chosen(body->albedo, "albedo");
  if (record.has("infrared")) {
    planet.infrared = environment::UniformInfrared{record.quantity("infrared")};
  } else if (body->infrared) {
    planet.infrared = environment::UniformInfrared{chosen(*body->infrared, "infrared")};
  } else {
    planet.infrared = environment::SubSolarInfrared{body->night_infrared ? body->night_infrared->value : 0.0};
    if (body->night_infrared) note_source(name, "night_infrared", *body->night_infrared);
  }
  return planet;
}

void CaseBuilder::build_orbit() {
  if (!record_.has("orbit")) return;
  const Record& record = record_.section("orbit");
  const Record& sun = record_.section("sun");
  for (const char* key : {"ellipse", "course"}) {
    if (sun.has(key))
      find(Code::key_conflict, sun.place(key),
           std::string("`") + key + "` around the Sun and an `orbit` exclude each other");
  }
  const bool by_beta = record.has("beta");
  for (const char* key : {"node_from_sun", "sun_declination", "argument_of_periapsis"}) {
    if (by_beta && record.stated(key))
      find(Code::key_conflict, record.place(key),
           std::string("`") + key + "` goes with `inclination`, not with `beta`");
  }
  if (!by_beta && record.stated("periapsis_from_noon"))
    find(Code::key_conflict, record.place("periapsis_from_noon"), "with `inclination` state `argument_of_periapsis`");
  if (record.text("front_to") != "sun" && sun.stated("tilt"))
    find(Code::key_conflict, sun.place("tilt"), "a front kept to zenith or nadir has no tilt of its own");
  const std::optional<environment::Planet> planet = planet_of(record);
  if (!planet) return;
  if (!sun.has("distance")) case_.sun.distance_m = planet->sun_semi_major_axis_m;
  const double lowest_m = record.quantity(record.has("altitude") ? "altitude" : "lowest");
  const double highest_m = record.has("altitude") ? lowest_m : record.quantity("highest");
  if (highest_m < lowest_m) {
    find(Code::limits_contradict, record.place("highest"), "the highest altitude must not lie below the lowest");
    return;
  }
  Orbit orbit;
  orbit.body = record.text("body");
  orbit.planet = *planet;
  orbit.path.ellipse =
      environment::ellipse_between(planet->gravitational_parameter_m3_per_s2, planet->radius_m, lowest_m, highest_m);
  if (by_beta) {
    orbit.path.beta_rad = record.quantity("beta");
    orbit.path.periapsis_from_noon_rad = record.quantity("periapsis_from_noon");
  } else {
    const environment::OrbitPlane plane{record.quantity("inclination"), record.quantity("node_from_sun"),
                                        record.quantity("argument_of_periapsis")};
    orbit.path = environment::orbit_of(orbit.path.ellipse, plane, {0.0, record.quantity("sun_declination")});
  }
  const double start_anomaly = wrapped(record.quantity("start_from_noon") - orbit.path.periapsis_from_noon_rad);
  orbit.path.ellipse.mean_anomaly_at_start_rad =
      orbit.path.ellipse.mean_motion_rad_per_s() * orbit.path.ellipse.time_at_s(start_anomaly);
  const std::string& front = record.text("front_to");
  orbit.attitude = front == "sun"      ? Orbit::Attitude::sun
                   : front == "zenith" ? Orbit::Attitude::away_from_planet
                                       : Orbit::Attitude::to_planet;
  orbit.albedo = record.text("reflected") == "sunlit_part" ? environment::AlbedoMethod::sunlit_part
                                                           : environment::AlbedoMethod::zenith_cosine;
  case_.orbit = std::move(orbit);
}

void CaseBuilder::check_sky() {
  if (case_.hold) check_one_node(case_.hold->node, record_.section("sun").section("hold").place("node"));
  if (case_.orbit) {
    for (const auto& [name, record] : record_.by_name("surfaces")) {
      const bool told = record.has("facing") || record.flag("sunlit");
      if (!told && record.quantity("view_to_space") > 0.0)
        find(Code::key_missing, record.place(),
             "around a planet surface '" + name + "' needs `facing`: front, rear, both or shielded");
    }
    for (const auto& [name, record] : record_.by_name("enclosures"))
      find(Code::key_conflict, record.place(),
           "the faces of an enclosure see no planet in this model: it counts as space", "", Severity::warning);
  }
  const bool turns_back = case_.sun.tilt_rad > 0.5 * std::numbers::pi || case_.tilt_law == TiltLaw::fixed_in_space;
  const bool rear = std::any_of(case_.surfaces.begin(), case_.surfaces.end(),
                                [](const Surface& surface) { return surface.rear_m2() > 0.0; });
  if (turns_back && !case_.orbit && !rear)
    find(Code::key_missing, record_.section("sun").place("tilt"),
         "beyond 90 deg the rear meets the Sun, and no surface says `facing: rear`: the tile is in the dark", "",
         Severity::warning);
}

}  // namespace tileflux::tile
