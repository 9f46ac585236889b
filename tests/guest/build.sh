#!/bin/bash
# Builds the guest once (some two minutes): GUEST_DIR=/some/folder tests/guest/build.sh
# Needs Debian's qemu-system-x86 ipxe-qemu seabios mmdebstrap cpio busybox-static, and root.
# Whatever is half built when it ends has a name of its own and is made anew the next time.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
mkdir -p "${GUEST_DIR:?set it to an empty folder}"
cd "$GUEST_DIR"
rm -rf ./*.half

kernel=$(apt-cache depends linux-image-amd64 | sed -n 's/.*Depends: \(linux-image-[0-9].*\)/\1/p' | head -1)
version=${kernel#linux-image-}
if [ ! -d "kernel-$version" ]; then
  mkdir kernel.half
  (cd kernel.half && apt-get download "$kernel" && dpkg-deb -x "$kernel"_*.deb . && rm -- *.deb)
  mv kernel.half "kernel-$version"
fi
packages=python3-minimal,python3,libusb-1.0-0,udev,kmod,procps
if [ ! -d rootfs ]; then
  TMPDIR=$PWD mmdebstrap --mode=root --variant=minbase --include="$packages" \
    --dpkgopt='path-exclude=/usr/share/doc/*' --dpkgopt='path-exclude=/usr/share/man/*' \
    --dpkgopt='path-exclude=/usr/share/locale/*' bookworm rootfs.half
  mv rootfs.half rootfs
fi

cp -a rootfs image.half
modules=lib/modules/$version
source=kernel-$version/$modules
mkdir -p "image.half/$modules/kernel/drivers"
for part in usb hid input; do cp -a "$source/kernel/drivers/$part" "image.half/$modules/kernel/drivers/"; done
rm -rf "image.half/$modules/kernel/drivers/usb/"{storage,misc,typec,atm,image,musb,dwc2,dwc3,chipidea}
cp "$source/"modules.{order,builtin,builtin.modinfo} "image.half/$modules/"
chroot image.half depmod "$version"
rm -rf image.half/var/{cache,lib}/apt image.half/var/lib/dpkg image.half/usr/share/{doc,man,locale,info,zoneinfo} image.half/boot
cp /bin/busybox image.half/bin/busybox
install -m 755 "$here/init" image.half/init
(cd image.half && find . -print0 | cpio --null -o -H newc --quiet) > base.cpio.half
cp "kernel-$version/boot/vmlinuz-$version" vmlinuz
mv base.cpio.half base.cpio
rm -rf image.half
ls -l base.cpio vmlinuz
