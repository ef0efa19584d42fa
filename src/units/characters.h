#pragma once
/// Characters of numbers and units, the same in every locale.

namespace tileflux::units {

inline bool is_digit(char c) { return c >= '0' && c <= '9'; }
inline bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

}  // namespace tileflux::units
