#include "plan/cautions.h"

namespace rookery::plan {

Note mains_caution() {
  return {.caution = true,
          .text =
              "The screw terminals of a machine's supply carry mains voltage beside the low voltage, and its "
              "capacitors keep it for a while after the plug is out.",
          .remedy =
              "Take the low voltage outside its case. Follow local codes; leave mains wiring to licensed "
              "people."};
}

Note short_caution() {
  return {.caution = true,
          .text =
              "A machine's supply gives 15 A and more into a short: enough to melt wire and to start a fire "
              "before "
              "it switches off.",
          .remedy = "Fuse the branch close to the supply, and work on it with the plug out."};
}

Note wiring_caution() {
  return {.caution = true,
          .text =
              "A wire that is left alone for years needs a fuse, a relief against pulling, and no sharp edge "
              "or hot "
              "part beside it.",
          .remedy = "Follow local codes; leave mains wiring to licensed people."};
}

Note lithium_caution() {
  return {
      .caution = true,
      .text =
          "Lithium cells burn when they are shorted, pierced, charged below 0 °C or charged without a "
          "circuit "
          "that watches them.",
      .remedy =
          "Use cells with a protection circuit, charge them on something that does not burn, and never leave "
          "a swollen one in use."};
}

Note solder_caution() {
  return {.caution = true,
          .text = "A soldering iron burns skin and benches, and flux fumes hurt lungs.",
          .remedy = "Wear eye protection, draw the fumes away, and wash your hands after leaded solder."};
}

Note lamp_caution() {
  return {.caution = true,
          .text = "The board's lamp is bright enough to dazzle at arm's length, and it heats the board.",
          .remedy = "Do not look into it; do not leave it on in a closed case."};
}

Note filming_caution() {
  return {
      .caution = true,
      .text =
          "A camera films whoever comes by. People have a right to know, and in many places a law says so.",
      .remedy =
          "Put up a sign, leave out what is not yours, and follow local law on filming and keeping "
          "pictures."};
}

}  // namespace rookery::plan
