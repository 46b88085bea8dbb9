# The Debian packages that building, testing and checking need; sourced by the other tools.
build_packages=(g++ cmake ninja-build pkg-config libboost-dev libeigen3-dev libfmt-dev libspdlog-dev libcli11-dev
  libtomlplusplus-dev nlohmann-json3-dev libarchive-dev libsqlite3-dev libxxhash-dev)
test_packages=(libgtest-dev libglpk-dev libsundials-dev gzip xz-utils zstd zip)
form_packages=(clang-format clang-tidy git)
cluster_packages=(parallel slurmctld slurmd slurm-client munge)
