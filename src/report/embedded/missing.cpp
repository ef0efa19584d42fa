// In the place of built.cpp in a build without pages (TILEFLUX_REPORT=OFF).
#include "report/page_assets.h"

namespace tileflux::report {

PageAssets page_assets() { return {}; }

}  // namespace tileflux::report
