#!/usr/bin/env bash
# Installs the Debian packages that are missing, and says which. Sourced by ./run and ./test.
#
#   need_packages PURPOSE PACKAGE…

build_packages=(
  clang-16 lld-16 libclang-rt-16-dev cmake ninja-build ccache pkg-config
  libboost1.81-dev libboost-json1.81-dev libboost-url1.81-dev libssl-dev zlib1g-dev
  libturbojpeg0-dev libjpeg62-turbo-dev libavformat-dev libavcodec-dev libavutil-dev libswscale-dev
  libsqlitecpp-dev libsqlite3-dev libtomlplusplus-dev libcli11-dev libfmt-dev libspdlog-dev
  libsodium-dev libcurl4-openssl-dev libmosquitto-dev libavahi-core-dev libkainjow-mustache-dev libqrencode-dev libpango1.0-dev fonts-dejavu-core libgtest-dev libgmock-dev librapidcheck-dev libbenchmark-dev
)
test_packages=(ffmpeg nginx-light opencv-doc curl openssl sqlite3 imagemagick chromium procps
  mosquitto mosquitto-clients python3-aiosmtpd python3-prometheus-client
  zbar-tools
  iproute2 nftables avahi-daemon avahi-utils dbus python3-zeroconf
  libopencv-video-dev libopencv-imgcodecs-dev libopencv-calib3d-dev ngspice)

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"; return; fi
  if command -v sudo >/dev/null; then sudo "$@"; return; fi
  echo "Installing needs root: run this as root, or install sudo first." >&2
  return 1
}

need_packages() {
  local purpose=$1 missing=() package
  shift
  for package in "$@"; do
    [ "$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null)" = installed ] || missing+=("$package")
  done
  [ ${#missing[@]} -gt 0 ] || return 0
  echo "Installing for $purpose (apt): ${missing[*]}"
  as_root apt-get update -qq
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
}

# The photographs of the package python3-skimage, in build/pictures/. The package itself cannot be installed here: what
# it depends on needs another Boost than ours.
need_pictures() {
  local into=build/pictures work
  [ ! -f "$into/camera.png" ] || return 0
  echo "Fetching pictures for the tests (apt): python3-skimage"
  work=$(mktemp -d)
  (
    cd "$work"
    apt-get download -qq python3-skimage 2>/dev/null || { as_root apt-get update -qq && apt-get download -qq python3-skimage; }
    dpkg-deb -x python3-skimage_*.deb .
  )
  mkdir -p "$into"
  cp "$work"/usr/lib/python3/dist-packages/skimage/data/*.{png,jpg} "$into/"
  rm -rf "$work"
}

# Node.js 18 or later and npm; whatever is on the PATH is taken first.
need_node() {
  if ! command -v node >/dev/null || [ "$(node -p 'process.versions.node.split(".")[0]')" -lt 18 ] || ! command -v npm >/dev/null; then
    need_packages "the page" nodejs npm
  fi
}
