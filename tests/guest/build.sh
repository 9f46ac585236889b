#!/bin/bash
# Builds the guest once (some two minutes): GUEST_DIR=/some/folder tests/guest/build.sh
# Needs Debian's qemu-system-x86 ipxe-qemu seabios mmdebstrap cpio busybox-static, and root.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
cd "${GUEST_DIR:?set it to an empty folder}"

kernel=$(apt-cache depends linux-image-amd64 | sed -n 's/.*Depends: \(linux-image-[0-9].*\)/\1/p' | head -1)
version=${kernel#linux-image-}
[ -d kernel ] || { apt-get download "$kernel"; dpkg-deb -x "$kernel"_*.deb kernel; rm -- *.deb; }
packages=python3-minimal,python3,libusb-1.0-0,udev,kmod,procps
[ -d rootfs ] || TMPDIR=$PWD mmdebstrap --mode=root --variant=minbase --include="$packages" \
  --dpkgopt='path-exclude=/usr/share/doc/*' --dpkgopt='path-exclude=/usr/share/man/*' \
  --dpkgopt='path-exclude=/usr/share/locale/*' bookworm rootfs

rm -rf image
cp -a rootfs image
modules=lib/modules/$version
mkdir -p "image/$modules/kernel/drivers"
for part in usb hid input; do cp -a "kernel/$modules/kernel/drivers/$part" "image/$modules/kernel/drivers/"; done
rm -rf "image/$modules/kernel/drivers/usb/"{storage,misc,typec,atm,image,musb,dwc2,dwc3,chipidea}
cp "kernel/$modules/"modules.{order,builtin,builtin.modinfo} "image/$modules/"
chroot image depmod "$version"
rm -rf image/var/{cache,lib}/apt image/var/lib/dpkg image/usr/share/{doc,man,locale,info,zoneinfo} image/boot
cp /bin/busybox image/bin/busybox
install -m 755 "$here/init" image/init
(cd image && find . -print0 | cpio --null -o -H newc --quiet) > base.cpio
cp "kernel/boot/vmlinuz-$version" vmlinuz
ls -l base.cpio vmlinuz
