#pragma once
/// A sweep with what a person asked for, for those who print it.

#include <string>

#include "tileflux/input/override.h"
#include "tileflux/input/value_range.h"
#include "tileflux/studies/sweep.h"

namespace tileflux::cli {

struct Swept {
  input::QuantityAt varied;  ///< as the case has it
  input::ValueRange range;
  studies::Sweep sweep;

  std::string in_unit(double value_si) const;  ///< `0.7213 AU`
  std::string number(double value_si) const;   ///< `0.7213`
};

/// `cells below`, `difference of plate - lid below`.
std::string limit_words(const studies::Margin& margin);

/// What a tilt needed comes to in a word: none, needed, in vain, too cold, no limit.
std::string tilt_word(const studies::TiltNeeded& tilt);

}  // namespace tileflux::cli
