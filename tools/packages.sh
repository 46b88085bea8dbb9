# The Debian packages that building, testing and checking need; sourced by the other tools.
build_packages=(g++ cmake ninja-build pkg-config libboost-dev libeigen3-dev libfmt-dev libspdlog-dev libcli11-dev
  libtomlplusplus-dev nlohmann-json3-dev libarchive-dev zlib1g-dev libsqlite3-dev libxxhash-dev libceres-dev
  libunistring-dev libmosquitto-dev coinor-libcbc-dev)
test_packages=(libgtest-dev libglpk-dev libsundials-dev gzip xz-utils zstd zip sqlite3 mosquitto mosquitto-clients
  dpkg-dev file lintian systemd zsh fish mandoc
  python3-dev python3-numpy python3-matplotlib pybind11-dev doxygen mkdocs)
form_packages=(clang-format clang-tidy git)
cluster_packages=(parallel slurmctld slurmd slurm-client munge)
# For WebAssembly: a compiler, its linker and libc; the C++ library and the unpackers are built from Debian's sources.
web_packages=(clang-19 lld-19 llvm-19 libclang-rt-19-dev-wasm32 wasi-libc libfast-float-dev libunistring-dev dpkg-dev xz-utils)
# A browser for the pages' tests; only worth its size where Node.js can build the pages' script.
browser_packages=(chromium)
has_node() { command -v npm >/dev/null && node -e 'const [a, b] = process.versions.node.split("."); process.exit(a > 20 || (a == 20 && b >= 19) ? 0 : 1)' 2>/dev/null; }
