"""Looks at what only Xcode reads: the project, the property lists and the string catalogues.

usage: check_app.py FOLDER_OF_APP
Loads the project with a parser that others wrote (pbxproj), so that a slip of the pen in it is found without a Mac.
"""

import json
import pathlib
import plistlib
import sys

from pbxproj import XcodeProject

app = pathlib.Path(sys.argv[1])
project = XcodeProject.load(str(app / "Leafturn.xcodeproj/project.pbxproj"))
targets = project.objects.get_targets()
assert [t.name for t in targets] == ["Leafturn"], targets
(target,) = targets
groups = [project.objects[own] for own in target.fileSystemSynchronizedGroups]
assert [g.path for g in groups] == ["Leafturn"], groups
for group in groups:
    assert (app / group.path).is_dir(), f"no folder {group.path}"
ids = set(project.objects.get_keys())
for own in target.buildPhases + target.packageProductDependencies:
    assert own in ids, f"{own} is named and not there"
packages = [p.relativePath for p in project.objects.get_objects_in_section("XCLocalSwiftPackageReference")]
assert packages == [".."] and (app / ".." / "Package.swift").is_file(), packages
for configuration in project.objects.get_objects_in_section("XCBuildConfiguration"):
    settings = configuration.buildSettings
    for name in ("INFOPLIST_FILE", "CODE_SIGN_ENTITLEMENTS"):
        if name in settings:
            assert (app / settings[name]).is_file(), f"{settings[name]} is not there"

info = plistlib.loads((app / "Info.plist").read_bytes())
privacy = plistlib.loads((app / "Leafturn/PrivacyInfo.xcprivacy").read_bytes())
plistlib.loads((app / "Leafturn.entitlements").read_bytes())
assert privacy["NSPrivacyTracking"] is False and privacy["NSPrivacyTrackingDomains"] == []
usage = {key for key in info if key.endswith("UsageDescription")}
assert usage == {"NSCameraUsageDescription", "NSLocationWhenInUseUsageDescription"}, usage
assert "NSAppTransportSecurity" not in info, "no exception from encryption is wanted"

spoken = json.loads((app / "Leafturn/InfoPlist.xcstrings").read_text())["strings"]
for key in usage:
    texts = {tag: own["stringUnit"]["value"] for tag, own in spoken[key]["localizations"].items()}
    assert sorted(texts) == ["en", "es", "fr"] and all(texts.values()), f"{key}: {texts}"
    assert info[key] == texts["en"], f"{key} differs in English"
words = json.loads((app / "Leafturn/Localizable.xcstrings").read_text())["strings"]
assert len(words) > 100, len(words)
plural = [
    (name, tag)
    for name, own in words.items()
    for tag, said in own["localizations"].items()
    if "variations" in said and sorted(said["variations"]["plural"]) == ["one", "other"]
]
assert len(plural) > 30 and len({tag for _, tag in plural}) == 3, len(plural)

# What lies on the phone can be read after the first unlock, and no backup carries it.
entitled = plistlib.loads((app / "Leafturn.entitlements").read_bytes())
assert entitled["com.apple.developer.default-data-protection"] == "NSFileProtectionCompleteUntilFirstUserAuthentication"
device = "".join(own.read_text() for own in (app / "Leafturn").glob("*.swift"))
for wanted in ("FileProtectionType.completeUntilFirstUserAuthentication", "isExcludedFromBackup = true", "AfterFirstUnlockThisDeviceOnly"):
    assert wanted in device, f"{wanted} stands nowhere in the device layer"
reasons = {own["NSPrivacyAccessedAPIType"]: own["NSPrivacyAccessedAPITypeReasons"] for own in privacy["NSPrivacyAccessedAPITypes"]}
assert "NSPrivacyAccessedAPICategoryUserDefaults" in reasons and all(reasons.values()), reasons
print(f"project, {len(usage)} usage texts, {len(words)} messages, {len(plural)} of them with plural forms")
