/// A plate in the sun, built without a file and solved with the installed library.

#include <tileflux/studies/balance.h>
#include <tileflux/tile/case.h>

#include <cstdio>

int main() {
  tileflux::tile::Case plate;
  plate.title = "plate";
  plate.space_K = 1.0;
  tileflux::tile::Part sheet;
  sheet.name = "sheet";
  sheet.capacity_J_per_K = tileflux::PropertyTable(2400.0);
  plate.parts.push_back(sheet);
  for (const bool sunlit : {true, false}) {
    tileflux::tile::Surface surface;
    surface.name = sunlit ? "front" : "back";
    surface.node = "sheet";
    surface.area_m2 = 1.0;
    surface.emittance = sunlit ? 0.85 : 0.88;
    surface.absorptance = 0.9;
    if (sunlit) surface.facing = tileflux::tile::Surface::Facing::front;
    plate.surfaces.push_back(surface);
  }
  const tileflux::studies::Balance balance = tileflux::studies::balance(plate);
  std::printf("plate %.3f K\n", balance.beam_off.x.front());
  return 0;
}
