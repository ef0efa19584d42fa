#include "units/unit_database.h"

#include <udunits2.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <mutex>
#include <numbers>
#include <span>
#include <string>
#include <unordered_map>
#include <utility>

#include "tileflux/base/constants.h"
#include "tileflux/base/spelling.h"

namespace tileflux::units {

namespace {

constexpr std::size_t most_remembered = 1024;  // texts come from strangers: the memory of them is bounded

struct Prefix {
  std::string_view text;
  double factor;
};

constexpr std::array symbol_prefixes{
    Prefix{"da", 1e1},  Prefix{"y", 1e-24}, Prefix{"z", 1e-21}, Prefix{"a", 1e-18}, Prefix{"f", 1e-15},
    Prefix{"p", 1e-12}, Prefix{"n", 1e-9},  Prefix{"u", 1e-6},  Prefix{"m", 1e-3},  Prefix{"c", 1e-2},
    Prefix{"d", 1e-1},  Prefix{"h", 1e2},   Prefix{"k", 1e3},   Prefix{"M", 1e6},   Prefix{"G", 1e9},
    Prefix{"T", 1e12},  Prefix{"P", 1e15},  Prefix{"E", 1e18},  Prefix{"Z", 1e21},  Prefix{"Y", 1e24},
};
constexpr std::array name_prefixes{
    Prefix{"deka", 1e1},   Prefix{"deca", 1e1},    Prefix{"yocto", 1e-24}, Prefix{"zepto", 1e-21},
    Prefix{"atto", 1e-18}, Prefix{"femto", 1e-15}, Prefix{"pico", 1e-12},  Prefix{"nano", 1e-9},
    Prefix{"micro", 1e-6}, Prefix{"milli", 1e-3},  Prefix{"centi", 1e-2},  Prefix{"deci", 1e-1},
    Prefix{"hecto", 1e2},  Prefix{"kilo", 1e3},    Prefix{"mega", 1e6},    Prefix{"giga", 1e9},
    Prefix{"tera", 1e12},  Prefix{"peta", 1e15},   Prefix{"exa", 1e18},    Prefix{"zetta", 1e21},
    Prefix{"yotta", 1e24},
};

/// Units that UDUNITS does not know by these symbols, knows as names only (ohm and bar, which then take no prefix
/// symbol), or knows with a superseded value (the electronvolt).
struct Extra {
  std::string_view symbol;
  double factor;
  Powers powers;
  bool takes_prefix;
};
constexpr std::array extras{
    Extra{"AU", astronomical_unit_m, {1, 0, 0, 0, 0, 0, 0, 0}, false},
    Extra{"Wh", 3600.0, {2, 1, -2, 0, 0, 0, 0, 0}, true},
    Extra{"Ah", 3600.0, {0, 0, 1, 1, 0, 0, 0, 0}, true},
    Extra{"deg", std::numbers::pi / 180.0, {0, 0, 0, 0, 0, 0, 0, 1}, false},
    Extra{"ohm", 1.0, {2, 1, -3, -2, 0, 0, 0, 0}, true},
    Extra{"bar", 1e5, {-1, 1, -2, 0, 0, 0, 0, 0}, true},
    Extra{"eV", 1.602176634e-19, {2, 1, -2, 0, 0, 0, 0, 0}, true},  // exact since the 2019 SI
};

/// For "did you mean": what a case is likely to hold.
const std::vector<std::string>& usual_names() {
  static const std::vector<std::string> names{
      "m",    "mm", "um",   "cm",   "km",    "nm",     "AU",     "kg",       "g",       "s",     "ms",
      "min",  "h",  "day",  "K",    "mK",    "degC",   "W",      "mW",       "kW",      "MW",    "GW",
      "J",    "kJ", "MJ",   "Wh",   "kWh",   "A",      "mA",     "kA",       "V",       "mV",    "ohm",
      "mohm", "Hz", "kHz",  "rad",  "mrad",  "deg",    "eV",     "Pa",       "N",       "Ah",    "%",
      "mol",  "sr", "hour", "watt", "metre", "kelvin", "second", "kilowatt", "percent", "degree"};
  return names;
}

/// The power of each base unit in a unit of UDUNITS, and its scale. Filled by the visitor.
struct Signature {
  Powers powers{};
  double factor = 1.0;
  double offset = 0.0;  // in underlying units
  bool linear = true;
};

bool add_basic(const ut_unit* unit, int power, Signature& signature) {
  const char* symbol = ut_get_symbol(unit, UT_ASCII);
  const auto found = std::find(base_symbols.begin(), base_symbols.end(), symbol == nullptr ? "" : symbol);
  if (found == base_symbols.end()) return false;
  signature.powers[static_cast<std::size_t>(found - base_symbols.begin())] += power;
  return true;
}

ut_status visit_basic(const ut_unit* unit, void* argument) {
  auto& signature = *static_cast<Signature*>(argument);
  signature.linear = add_basic(unit, 1, signature) && signature.linear;
  return UT_SUCCESS;
}

ut_status visit_product(const ut_unit*, int count, const ut_unit* const* basic_units, const int* powers,
                        void* argument) {
  auto& signature = *static_cast<Signature*>(argument);
  for (int i = 0; i < count; ++i)
    signature.linear = add_basic(basic_units[i], powers[i], signature) && signature.linear;
  return UT_SUCCESS;
}

extern const ut_visitor signature_visitor;

ut_status visit_galilean(const ut_unit*, double scale, const ut_unit* underlying, double offset, void* argument) {
  auto& signature = *static_cast<Signature*>(argument);
  // amount in underlying units = scale * (x + offset)
  signature.offset = signature.offset + signature.factor * scale * offset;
  signature.factor *= scale;
  return ut_accept_visitor(underlying, &signature_visitor, argument);
}

ut_status visit_timestamp(const ut_unit*, const ut_unit*, double, void* argument) {
  static_cast<Signature*>(argument)->linear = false;
  return UT_SUCCESS;
}

ut_status visit_logarithmic(const ut_unit*, double, const ut_unit*, void* argument) {
  static_cast<Signature*>(argument)->linear = false;
  return UT_SUCCESS;
}

const ut_visitor signature_visitor{visit_basic, visit_product, visit_galilean, visit_timestamp, visit_logarithmic};

struct FreeSystem {
  void operator()(ut_system* system) const { ut_free_system(system); }
};
struct FreeUnit {
  void operator()(ut_unit* unit) const { ut_free(unit); }
};
using UnitPointer = std::unique_ptr<ut_unit, FreeUnit>;

class Database {
 public:
  Database() {
    ut_set_error_message_handler(ut_ignore);
    system_.reset(ut_read_xml(nullptr));
    if (!system_)
      throw Error(Code::internal,
                  "the unit database of UDUNITS cannot be loaded: is the package libudunits2-data installed?");
  }

  std::optional<Meaning> find(const std::string& name) const {
    if (const auto plain = find_plain(name)) return plain->meaning;
    if (const auto by_symbol = find_prefixed(name, symbol_prefixes, true)) return by_symbol;
    return find_prefixed(name, name_prefixes, false);
  }

 private:
  struct Plain {
    Meaning meaning;
    bool takes_prefix;
  };

  std::optional<Plain> find_plain(const std::string& name) const {
    for (const Extra& extra : extras) {
      if (extra.symbol == name) return Plain{{extra.factor, 0.0, extra.powers}, extra.takes_prefix};
    }
    UnitPointer unit(ut_get_unit_by_symbol(system_.get(), name.c_str()));
    if (!unit) unit.reset(ut_get_unit_by_name(system_.get(), name.c_str()));
    if (!unit) return std::nullopt;
    Signature signature;
    if (ut_accept_visitor(unit.get(), &signature_visitor, &signature) != UT_SUCCESS || !signature.linear)
      return std::nullopt;
    const Meaning meaning{signature.factor, signature.offset, signature.powers};
    const bool is_time = meaning.powers == Powers{0, 0, 1, 0, 0, 0, 0, 0};
    const bool is_plain_number = meaning.powers == Powers{};
    const bool is_multiple = meaning.factor != 1.0;
    const bool takes_prefix = meaning.offset == 0.0 && name != "kg" && !(is_time && is_multiple) && !is_plain_number;
    return Plain{meaning, takes_prefix};
  }

  std::optional<Meaning> find_prefixed(const std::string& name, std::span<const Prefix> prefixes, bool symbols) const {
    for (const Prefix& prefix : prefixes) {
      if (name.size() <= prefix.text.size() || !name.starts_with(prefix.text)) continue;
      const std::string rest = name.substr(prefix.text.size());
      if (!known_as(rest, symbols)) continue;
      if (auto plain = find_plain(rest); plain && plain->takes_prefix) {
        plain->meaning.factor *= prefix.factor;
        return plain->meaning;
      }
    }
    return std::nullopt;
  }

  /// A prefix symbol belongs to a unit symbol, a prefix name to a unit name: neither `mwatt` nor `milliW`.
  bool known_as(const std::string& name, bool symbol) const {
    if (symbol && std::any_of(extras.begin(), extras.end(), [&](const Extra& extra) { return extra.symbol == name; }))
      return true;
    const UnitPointer unit(symbol ? ut_get_unit_by_symbol(system_.get(), name.c_str())
                                  : ut_get_unit_by_name(system_.get(), name.c_str()));
    return unit != nullptr;
  }

  std::unique_ptr<ut_system, FreeSystem> system_;
};

std::string lower_case(std::string_view word) {
  std::string lower(word);
  for (char& c : lower) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return lower;
}

std::string unknown_name(const std::string& name) {
  std::string message = "the unit '" + name + "' is not known";
  std::string likely;
  for (const std::string& usual : usual_names()) {
    if (lower_case(usual) == lower_case(name)) likely += (likely.empty() ? "'" : " or '") + usual + '\'';
  }
  constexpr std::size_t shortest_for_spelling = 4;  // shorter words are all near one another
  if (likely.empty() && name.size() >= shortest_for_spelling) {
    const std::string nearest = nearest_spelling(name, usual_names());
    if (nearest.size() >= shortest_for_spelling) likely = '\'' + nearest + '\'';
  }
  return likely.empty() ? message : message + ", did you mean " + likely + '?';
}

Resolved resolve(std::string_view unit, const Database& database) {
  const UnitText text = read_unit_text(unit);
  if (text.fault) return {{}, text.fault};
  Resolved result;
  const bool alone = text.factors.size() == 1 && text.factors.front().power == 1;
  for (const UnitFactor& factor : text.factors) {
    const std::optional<Meaning> meaning = database.find(factor.name);
    if (!meaning) return {{}, UnitFault{Code::unit_unknown, unknown_name(factor.name), factor.offset}};
    result.meaning.factor *= std::pow(meaning->factor, factor.power);
    if (alone) result.meaning.offset = meaning->offset;
    for (std::size_t i = 0; i < base_symbols.size(); ++i) result.meaning.powers[i] += meaning->powers[i] * factor.power;
  }
  if (!std::isnormal(result.meaning.factor)) {
    return {{},
            UnitFault{Code::unit_malformed,
                      "the scale of '" + std::string(unit) + "' is beyond the numbers of the machine", 0}};
  }
  return result;
}

}  // namespace

Resolved resolve_unit(std::string_view unit) {
  static std::mutex mutex;  // UDUNITS keeps state between calls
  static std::unique_ptr<Database> database;
  static std::unordered_map<std::string, Resolved> remembered;
  const std::lock_guard lock(mutex);
  std::string key(unit);
  if (const auto found = remembered.find(key); found != remembered.end()) return found->second;
  if (!database) database = std::make_unique<Database>();
  Resolved result = resolve(unit, *database);
  if (remembered.size() >= most_remembered) remembered.clear();
  if (unit.size() <= longest_text_bytes) remembered.emplace(std::move(key), result);
  return result;
}

}  // namespace tileflux::units
