#!/usr/bin/env bash
# Downloads pinned icon sets for account.py into a folder and prints the folders of drawings.
#
#     bash fetch.sh FOLDER
#
# @phosphor-icons/core 2.1.1 (MIT), simple-icons 16.37.0 (CC0-1.0), @fortawesome/fontawesome-free 7.3.1 (icons: CC-BY-4.0),
# @tabler/icons 3.52.0 (MIT), ionicons 8.1.0 (MIT). None of them belongs in the repository.
set -euo pipefail
mkdir -p "$1"
cd "$1"
while read -r home pack folders; do
  if [ ! -d "$home" ]; then
    file=$(npm pack --silent "$pack" | tail -1)
    mkdir -p "$home.part"
    tar xzf "$file" -C "$home.part"
    rm "$file"
    mv "$home.part" "$home"
  fi
  for folder in $folders; do echo "$PWD/$home/package/$folder"; done
done <<'PACKS'
phosphor @phosphor-icons/core@2.1.1 assets/fill
simple simple-icons@16.37.0 icons
fontawesome @fortawesome/fontawesome-free@7.3.1 svgs/solid svgs/brands
tabler @tabler/icons@3.52.0 icons/filled icons/outline
ionicons ionicons@8.1.0 dist/svg
PACKS
