// Takes the files of the page into the program as they are; TILEFLUX_PAGE_DIR is where the build has put them.
#include "report/page_assets.h"

asm(".pushsection .rodata\n"
    ".hidden tileflux_page_begin\n.hidden tileflux_style_begin\n.hidden tileflux_style_hash_begin\n"
    ".hidden tileflux_script_begin\n.hidden tileflux_script_hash_begin\n.hidden tileflux_pictures_begin\n"
    ".hidden tileflux_pictures_end\n"
    ".global tileflux_page_begin\ntileflux_page_begin:\n.incbin \"" TILEFLUX_PAGE_DIR
    "/page.mustache\"\n"
    ".global tileflux_style_begin\ntileflux_style_begin:\n.incbin \"" TILEFLUX_PAGE_DIR
    "/page.css\"\n"
    ".global tileflux_style_hash_begin\ntileflux_style_hash_begin:\n.incbin \"" TILEFLUX_PAGE_DIR
    "/page-css.sha256\"\n"
    ".global tileflux_script_begin\ntileflux_script_begin:\n.incbin \"" TILEFLUX_PAGE_DIR
    "/page.js\"\n"
    ".global tileflux_script_hash_begin\ntileflux_script_hash_begin:\n.incbin \"" TILEFLUX_PAGE_DIR
    "/page-js.sha256\"\n"
    ".global tileflux_pictures_begin\ntileflux_pictures_begin:\n.incbin \"" TILEFLUX_PAGE_DIR
    "/pictures.js\"\n"
    ".global tileflux_pictures_end\ntileflux_pictures_end:\n.byte 0\n"
    ".popsection\n");

extern "C" {
extern const char tileflux_page_begin[];
extern const char tileflux_style_begin[];
extern const char tileflux_style_hash_begin[];
extern const char tileflux_script_begin[];
extern const char tileflux_script_hash_begin[];
extern const char tileflux_pictures_begin[];
extern const char tileflux_pictures_end[];
}

namespace tileflux::report {

PageAssets page_assets() {
  return {.page = {tileflux_page_begin, tileflux_style_begin},
          .style = {tileflux_style_begin, tileflux_style_hash_begin},
          .style_hash = {tileflux_style_hash_begin, tileflux_script_begin},
          .script = {tileflux_script_begin, tileflux_script_hash_begin},
          .script_hash = {tileflux_script_hash_begin, tileflux_pictures_begin},
          .pictures = {tileflux_pictures_begin, tileflux_pictures_end}};
}

}  // namespace tileflux::report
