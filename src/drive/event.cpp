// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/event.h"

namespace fourbeat::drive {

std::string_view reason_name(Reason reason) {
  switch (reason) {
    case Reason::unset:
      return "";
    case Reason::key:
      return "key";
    case Reason::beat:
      return "beat";
    case Reason::trigger:
      return "trigger";
    case Reason::layer:
      return "layer";
    case Reason::stopped:
      return "stopped";
    case Reason::gave_way:
      return "gave_way";
    case Reason::cut:
      return "cut";
    case Reason::handed_over:
      return "handed_over";
    case Reason::released:
      return "released";
    case Reason::ended:
      return "ended";
    case Reason::stolen:
      return "stolen";
    case Reason::replaced:
      return "replaced";
    case Reason::no_voice:
      return "no_voice";
  }
  return "";
}

std::string_view duty_name(DutyEvent duty) {
  switch (duty) {
    case DutyEvent::blows_off:
      return "blows_off";
    case DutyEvent::reseats:
      return "reseats";
    case DutyEvent::primes:
      return "primes";
    case DutyEvent::fire_dropped:
      return "fire_dropped";
    case DutyEvent::recovered:
      return "recovered";
  }
  return "";
}

std::string_view stem_name(Stem stem) {
  switch (stem) {
    case Stem::chuffs:
      return "chuffs";
    case Stem::layers:
      return "layers";
    case Stem::keys:
      return "keys";
    case Stem::beds:
      return "beds";
  }
  return "";
}

}  // namespace fourbeat::drive
