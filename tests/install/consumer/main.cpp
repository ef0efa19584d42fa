#include <tileflux/base/spelling.h>

#include <iostream>

int main() {
  std::cout << "distance " << tileflux::edit_distance("radiator", "raidator") << '\n';
  return 0;
}
