#pragma once
/// How well the inputs of a case are known, and what `margins` is asked.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace tileflux::tile {

/// How an input may differ from what the case states. SI units; values of one tile, not of an array's mean.
struct InputLaw {
  enum class Kind {
    normal,   ///< around the stated value
    uniform,  ///< between `from` and `to`
    bounded   ///< normal around the stated value, cut off at `from` and `to`
  };
  Kind kind = Kind::normal;
  double value = 0.0;               ///< as stated
  double standard_deviation = 0.0;  ///< of `normal` and, before it is cut off, of `bounded`
  double from = 0.0, to = 0.0;      ///< of `uniform` and `bounded`
};

struct UncertainInput {
  std::string path;  ///< of the case, or of a factor on a library property
  std::string unit;  ///< SI
  bool temperature = false;
  InputLaw law;
  /// Inputs of one batch move together in one tile, and what they share is the same in all tiles of an array. Empty:
  /// none; the input differs from tile to tile and from all others.
  std::string batch;
  double correlation = 0.0;      ///< share of the variance that is the batch's, 0..1
  std::optional<bool> bounding;  ///< whether bounding cases move it; none: as the policy goes
  std::string from_library;      ///< the library's words that this law is made of; empty: the case states it
};

/// What bounds a limit was stated for.
enum class LimitLevel { design, acceptance, qualification };
std::string_view name_of(LimitLevel level);

struct MarginSettings {
  std::string policy = "smc_s_016";  ///< name of a profile of materials/policies
  bool tested = false;  ///< whether a thermal balance test has corrected the model
  long tiles = 1;       ///< of the array that the worst is looked for in
};

/// Whether an input is about what surrounds the tile: the Sun, the orbit, the planet, deep space.
bool is_surrounding(std::string_view path);

}  // namespace tileflux::tile
