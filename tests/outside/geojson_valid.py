"""Checks a GeoJSON file with an independent library. Usage: geojson_valid.py FILE"""

import json
import sys

import geojson_validator

with open(sys.argv[1], encoding="utf-8") as file:
    collection = json.load(file)
structure = geojson_validator.validate_structure(collection)
placed = {**collection, "features": [feature for feature in collection["features"] if feature["geometry"]]}
geometries = geojson_validator.validate_geometries(placed)
wrong = {name: found for name, found in geometries.get("invalid", {}).items() if found}
print("structure:", structure, "geometries:", geometries)
if structure or wrong or not collection["features"]:
    sys.exit(f"not valid: {structure} {wrong}")
