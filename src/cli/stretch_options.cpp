// SPDX-License-Identifier: GPL-3.0-or-later
#include "stretch_options.h"

#include "fourbeat/base/text.h"

namespace fourbeat::cli {

void add_stretch(const Command& c, const std::shared_ptr<StretchOptions>& o) {
  c.option("FILE", o->file, "Recording").required();
  c.option("--channel", o->channel, "Channel from 1, or mix");
  c.option("--from", o->from_s, "Start in seconds");
  c.option("--to", o->to_s, "End in seconds");
  c.flag("--json", o->json, "Print JSON");
}

Result<work::Stretch> stretch_of(const StretchOptions& o) {
  work::Stretch stretch{std::nullopt, o.from_s, o.to_s};
  if (o.channel.empty() || o.channel == "mix") return stretch;
  const std::optional<double> channel = parse_number(o.channel);
  if (!channel || *channel < 1 || *channel > 1024 || *channel != static_cast<int>(*channel)) {
    return Error{
        ErrorCode::bad_argument, {}, "--channel", o.channel, "give a channel from 1, or mix"};
  }
  stretch.channel = static_cast<int>(*channel);
  return stretch;
}

}  // namespace fourbeat::cli
