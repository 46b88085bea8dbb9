#include "base/hash.hpp"

#include <fmt/format.h>
#include <xxhash.h>

#include <new>

namespace platetally::base {

namespace {

std::string hexadecimal(const XXH128_hash_t& hash) {
  return fmt::format("{:016x}{:016x}", hash.high64, hash.low64);
}

}  // namespace

struct Hash::State {
  XXH3_state_t* of_xxh3 = XXH3_createState();
  State() {
    if (of_xxh3 == nullptr)
      throw std::bad_alloc();
    XXH3_128bits_reset(of_xxh3);
  }
  State(const State&) = delete;
  State& operator=(const State&) = delete;
  ~State() { XXH3_freeState(of_xxh3); }
};

Hash::Hash() : state_(std::make_unique<State>()) {}
Hash::~Hash() = default;

void Hash::add(std::string_view bytes) {
  XXH3_128bits_update(state_->of_xxh3, bytes.data(), bytes.size());
}

std::string Hash::text() const {
  return hexadecimal(XXH3_128bits_digest(state_->of_xxh3));
}

std::string hash_of_text(std::string_view text) {
  return hexadecimal(XXH3_128bits(text.data(), text.size()));
}

}  // namespace platetally::base
