#include <cstdio>

int main() {
  std::puts("tileflux " TILEFLUX_VERSION);
  return 0;
}
