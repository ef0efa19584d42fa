#include "results/netcdf_head.h"

#include <cstdint>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>
#include <vector>

namespace tileflux::results {

namespace {

/// Walks through a head; once something does not fit nothing does.
class HeadWalk {
 public:
  explicit HeadWalk(const std::filesystem::path& path) : file_(path, std::ios::binary) {
    std::error_code trouble;
    left_ = std::filesystem::file_size(path, trouble);
    if (trouble) left_ = 0;
  }

  bool fits() {
    std::string magic(4, '\0');
    take(magic.data(), magic.size());
    const bool offsets_of_64_bits = magic[3] == 2;
    if (!sound_ || !magic.starts_with("CDF") || (magic[3] != 1 && magic[3] != 2)) return false;
    number();  // of records
    list([&] {
      name();
      lengths_.push_back(number());
    });
    attributes();
    list([&] {
      name();
      dimensions();
      attributes();
      type();
      skip(1, 4);  // size
      skip(1, offsets_of_64_bits ? 8 : 4);
    });
    return sound_;
  }

 private:
  void take(char* bytes, std::size_t count) {
    sound_ = sound_ && count <= left_ && file_.read(bytes, static_cast<std::streamsize>(count));
    left_ -= sound_ ? count : 0;
  }
  std::uint64_t number() {
    unsigned char bytes[4] = {};
    take(reinterpret_cast<char*>(bytes), sizeof bytes);
    return std::uint64_t{bytes[0]} << 24 | std::uint64_t{bytes[1]} << 16 | std::uint64_t{bytes[2]} << 8 | bytes[3];
  }
  void skip(std::uint64_t size, std::uint64_t count) {
    const std::uint64_t bytes = (size * count + 3) / 4 * 4;
    sound_ = sound_ && bytes <= left_ && file_.seekg(static_cast<std::streamoff>(bytes), std::ios::cur);
    left_ -= sound_ ? bytes : 0;
  }
  void name() { skip(1, number()); }
  /// Bytes of a value of the type that stands here. The library divides by what it finds for a type that is none.
  std::uint64_t type() {
    constexpr std::uint64_t sizes[] = {0, 1, 1, 2, 4, 4, 8};
    const std::uint64_t type = number();
    sound_ = sound_ && type > 0 && type < std::size(sizes);
    return sound_ ? sizes[type] : 0;
  }
  /// Of a variable: only the first may be that of the records, whose length is 0.
  void dimensions() {
    const std::uint64_t count = number();
    for (std::uint64_t k = 0; sound_ && k < count; ++k) {
      const std::uint64_t dimension = number();
      sound_ = sound_ && dimension < lengths_.size() && (k == 0 || lengths_[dimension] > 0);
    }
  }
  void attributes() {
    list([&] {
      name();
      const std::uint64_t bytes = type();
      const std::uint64_t count = number();
      skip(bytes, count);
    });
  }
  /// What the tag says is the library's affair; the count is what it asks memory for.
  template <class Each>
  void list(const Each& each) {
    number();
    const std::uint64_t count = number();
    constexpr std::uint64_t least_bytes = 8;  // of each
    sound_ = sound_ && count * least_bytes <= left_;
    for (std::uint64_t i = 0; sound_ && i < count; ++i) each();
  }

  std::ifstream file_;
  std::uint64_t left_ = 0;
  std::vector<std::uint64_t> lengths_;  ///< of the dimensions
  bool sound_ = true;
};

}  // namespace

bool is_classic_netcdf(const std::filesystem::path& path) {
  char magic[3] = {};
  std::ifstream(path, std::ios::binary).read(magic, sizeof magic);
  return std::string_view(magic, sizeof magic) == "CDF";
}

bool classic_head_fits(const std::filesystem::path& path) { return HeadWalk(path).fits(); }

}  // namespace tileflux::results
