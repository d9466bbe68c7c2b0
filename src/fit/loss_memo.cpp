// SPDX-License-Identifier: GPL-3.0-or-later
#include "loss_memo.h"

#include "fourbeat/base/sha256.h"

#include <fmt/format.h>

#include <functional>
#include <span>

namespace fourbeat::fit {

std::string source_name(const audio::Clip& source) {
  Sha256 digest;
  digest.add(std::as_bytes(std::span(source.samples)));
  std::string name = fmt::format("{} {}", source.sample_rate_hz, digest.hex());
  if (source.loop) {
    name += fmt::format(" {} {}", source.loop->start.value(), source.loop->end.value());
  }
  return name;
}

LossMemo& LossMemo::instance() {
  static LossMemo memo;
  return memo;
}

std::optional<double> LossMemo::find(const LossQuestion& question) {
  const std::scoped_lock lock(mutex_);
  const auto found = answers_.find(question);
  return found == answers_.end() ? std::nullopt : std::optional(found->second);
}

void LossMemo::keep(const LossQuestion& question, double loss) {
  const std::scoped_lock lock(mutex_);
  if (answers_.size() >= most_answers) answers_.clear();
  answers_.insert_or_assign(question, loss);
}

void LossMemo::forget_all() {
  const std::scoped_lock lock(mutex_);
  answers_.clear();
}

std::size_t LossMemo::Hash::operator()(const LossQuestion& question) const {
  std::size_t hash = std::hash<std::string>()(question.source);
  const auto mix = [&hash](std::size_t part) {
    hash = (hash ^ part) * std::size_t{0x9E3779B97F4A7C15ULL};
  };
  mix(static_cast<std::size_t>(question.encoding.sample_rate_hz));
  mix(static_cast<std::size_t>(question.encoding.bits));
  mix(std::hash<double>()(question.baked_db));
  mix(static_cast<std::size_t>(question.seed));
  return hash;
}

}  // namespace fourbeat::fit
