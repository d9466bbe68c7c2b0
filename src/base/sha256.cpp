// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/base/sha256.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"

#include <openssl/evp.h>

#include <array>
#include <cstdio>
#include <vector>

namespace fourbeat {

struct Sha256::State {
  EVP_MD_CTX* context = EVP_MD_CTX_new();
  State() { EVP_DigestInit_ex(context, EVP_sha256(), nullptr); }
  ~State() { EVP_MD_CTX_free(context); }
  State(const State&) = delete;
  State& operator=(const State&) = delete;
};

Sha256::Sha256() : state_(std::make_unique<State>()) {}
Sha256::~Sha256() = default;

void Sha256::add(std::span<const std::byte> bytes) {
  EVP_DigestUpdate(state_->context, bytes.data(), bytes.size());
}

void Sha256::add(std::string_view text) {
  EVP_DigestUpdate(state_->context, text.data(), text.size());
}

std::string Sha256::hex() {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned int length = 0;
  EVP_DigestFinal_ex(state_->context, digest.data(), &length);
  constexpr std::string_view digits = "0123456789abcdef";
  std::string text;
  for (unsigned int i = 0; i < length; ++i) {
    text += digits[digest.at(i) >> 4U];
    text += digits[digest.at(i) & 15U];
  }
  return text;
}

std::string sha256_hex(std::string_view text) {
  Sha256 sha;
  sha.add(text);
  return sha.hex();
}

Result<std::string> sha256_of_file(const std::filesystem::path& path, JobControl& job) {
  const Result<std::int64_t> size = regular_file_size(path);
  if (!size) return size.error();
  std::unique_ptr<std::FILE, int (*)(std::FILE*)> file(std::fopen(path.c_str(), "rb"),
                                                       &std::fclose);
  if (!file) return Error{ErrorCode::io_failed, path_text(path), {}, "cannot be opened", {}};
  Sha256 sha;
  std::vector<std::byte> block(std::size_t{1} << 20U);
  std::int64_t done = 0;
  while (true) {
    const std::size_t got = std::fread(block.data(), 1, block.size(), file.get());
    sha.add(std::span(block.data(), got));
    done += static_cast<std::int64_t>(got);
    if (got < block.size()) break;
    if (job.cancelled()) return Error{ErrorCode::cancelled, path_text(path), {}, {}, {}};
    job.progress(*size > 0 ? static_cast<double>(done) / static_cast<double>(*size) : 1.0,
                 "hashing");
  }
  if (std::ferror(file.get()) != 0) {
    return Error{ErrorCode::io_failed, path_text(path), {}, "cannot be read", {}};
  }
  return sha.hex();
}

}  // namespace fourbeat
