#include "tileflux/results/digest.h"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <array>
#include <fstream>
#include <memory>
#include <vector>

#include "tileflux/base/errors.h"

namespace tileflux::results {

namespace {

constexpr std::string_view seal_begins = ",\n  \"seal\": \"", seal_ends = "\"\n}\n";

std::string hexadecimal(const unsigned char* digest, std::size_t size) {
  std::string text;
  for (std::size_t i = 0; i < size; ++i) text += fmt::format("{:02x}", digest[i]);
  return text;
}

}  // namespace

std::string sha256_of(std::string_view bytes) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  std::size_t size = 0;
  if (EVP_Q_digest(nullptr, "SHA256", nullptr, bytes.data(), bytes.size(), digest.data(), &size) != 1)
    throw Error(Code::internal, "the library of digests knows no SHA-256");
  return hexadecimal(digest.data(), size);
}

std::string sha256_of_file(const std::filesystem::path& file) {
  std::ifstream stream(file, std::ios::binary);
  const std::unique_ptr<EVP_MD_CTX, decltype(&EVP_MD_CTX_free)> context(EVP_MD_CTX_new(), &EVP_MD_CTX_free);
  if (EVP_DigestInit_ex(context.get(), EVP_sha256(), nullptr) != 1)
    throw Error(Code::internal, "the library of digests knows no SHA-256");
  std::vector<char> block(std::size_t{1} << 20);
  while (stream) {
    stream.read(block.data(), static_cast<std::streamsize>(block.size()));
    EVP_DigestUpdate(context.get(), block.data(), static_cast<std::size_t>(stream.gcount()));
  }
  if (!stream.eof()) throw Error(Code::file_unreadable, "cannot read " + file.string());
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned size = 0;
  EVP_DigestFinal_ex(context.get(), digest.data(), &size);
  return hexadecimal(digest.data(), size);
}

std::string sealed(std::string json, const std::vector<std::filesystem::path>& files) {
  json.resize(json.find_last_of('}'));
  json.resize(json.find_last_not_of(" \n") + 1);
  std::string list;
  for (const std::filesystem::path& file : files) {
    list += fmt::format(R"({}{{"file": "{}", "bytes": {}, "sha256": "{}"}})", list.empty() ? "" : ", ",
                        file.filename().string(), std::filesystem::file_size(file), sha256_of_file(file));
  }
  if (!list.empty()) json += ",\n  \"files\": [" + list + ']';
  const std::string digest = sha256_of(json);
  return json + std::string(seal_begins) + digest + std::string(seal_ends);
}

bool seal_holds(std::string_view json) {
  constexpr std::size_t digits = 64;
  const std::size_t at = json.rfind(seal_begins);
  if (at == std::string_view::npos) return false;
  const std::string_view seal = json.substr(at + seal_begins.size());
  return seal.size() == digits + seal_ends.size() && seal.substr(digits) == seal_ends &&
         seal.substr(0, digits) == sha256_of(json.substr(0, at));
}

}  // namespace tileflux::results
