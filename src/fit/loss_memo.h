// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/fit/encode.h"

#include <cstddef>
#include <cstdint>
#include <mutex>
#include <optional>
#include <string>
#include <unordered_map>

namespace fourbeat::fit {

/// Everything that an encoding's loss depends on, as one name: the samples by their SHA-256.
struct LossQuestion {
  std::string source;  ///< source_name()
  Encoding encoding;
  model::LoopRules rules;
  bool has_playback_gain = true;
  double baked_db = 0.0;
  std::uint64_t seed = 0;
  std::optional<dsp::SpeakerResponse> speaker;
  bool operator==(const LossQuestion&) const = default;
};

/// A clip's content as text: rate, loop and the digest of its samples.
[[nodiscard]] std::string source_name(const audio::Clip& source);

/// What encoding_loss() has answered before. A set is fitted again after each edit, and one edit
/// changes one piece or two: the rest need not be encoded again to know what they would lose.
/// Safe to use from several threads.
class LossMemo {
 public:
  /// Answers kept at most; beyond it all are forgotten (some 200 bytes each).
  static constexpr std::size_t most_answers = 50'000;

  /// The one of this process.
  [[nodiscard]] static LossMemo& instance();

  [[nodiscard]] std::optional<double> find(const LossQuestion& question);
  void keep(const LossQuestion& question, double loss);
  void forget_all();

 private:
  struct Hash {
    std::size_t operator()(const LossQuestion& question) const;
  };
  std::mutex mutex_;
  std::unordered_map<LossQuestion, double, Hash> answers_;
};

}  // namespace fourbeat::fit
