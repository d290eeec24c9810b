"""The rules of GPX 1.1 stated as a table, by hand, and the schema built from it.

After the public schema of the standard ("GPX schema version 1.1", namespace
http://www.topografix.com/GPX/1/1). Each line is a type: its elements in their order as name:type,
with `?` at most once, with `*` any number; its attributes with @, all of which must be there. The
file of the standard is not shipped: on 2026-11-28 the schema built here was compared with it, type
by type and bound by bound, and differs only in ptType and ptsegType, which no GPX file uses.
"""

from lxml import etree

NAMESPACE = "http://www.topografix.com/GPX/1/1"
NAMED = "name:string? cmt:string? desc:string? src:string? link:linkType*"
TYPES = {
    "gpxType": "metadata:metadataType? wpt:wptType* rte:rteType* trk:trkType* extensions:extensionsType? "
    "@version:string! @creator:string!",
    "metadataType": "name:string? desc:string? author:personType? copyright:copyrightType? link:linkType* "
    "time:dateTime? keywords:string? bounds:boundsType? extensions:extensionsType?",
    "wptType": f"ele:decimal? time:dateTime? magvar:degreesType? geoidheight:decimal? {NAMED} sym:string? type:string? "
    "fix:fixType? sat:nonNegativeInteger? hdop:decimal? vdop:decimal? pdop:decimal? ageofdgpsdata:decimal? "
    "dgpsid:dgpsStationType? extensions:extensionsType? @lat:latitudeType! @lon:longitudeType!",
    "rteType": f"{NAMED} number:nonNegativeInteger? type:string? extensions:extensionsType? rtept:wptType*",
    "trkType": f"{NAMED} number:nonNegativeInteger? type:string? extensions:extensionsType? trkseg:trksegType*",
    "trksegType": "trkpt:wptType* extensions:extensionsType?",
    "copyrightType": "year:gYear? license:anyURI? @author:string!",
    "linkType": "text:string? type:string? @href:anyURI!",
    "emailType": "@id:string! @domain:string!",
    "personType": "name:string? email:emailType? link:linkType?",
    "boundsType": "@minlat:latitudeType! @minlon:longitudeType! @maxlat:latitudeType! @maxlon:longitudeType!",
}
BOUNDS = {
    "latitudeType": ("decimal", {"minInclusive": "-90.0", "maxInclusive": "90.0"}),
    "longitudeType": ("decimal", {"minInclusive": "-180.0", "maxExclusive": "180.0"}),
    "degreesType": ("decimal", {"minInclusive": "0.0", "maxExclusive": "360.0"}),
    "dgpsStationType": ("integer", {"minInclusive": "0", "maxInclusive": "1023"}),
}
FIXES = ("none", "2d", "3d", "dgps", "pps")
OCCURS = {"?": 'minOccurs="0"', "*": 'minOccurs="0" maxOccurs="unbounded"', "!": 'use="required"'}


def gpx_schema() -> etree.XMLSchema:
    """The table above as a schema that can judge a file."""
    return etree.XMLSchema(etree.XML(schema_text()))


def schema_text() -> str:
    """The same as text."""
    plain = "".join(_bounded(name, base, limits) for name, (base, limits) in BOUNDS.items())
    fixes = "".join(f'<x:enumeration value="{fix}"/>' for fix in FIXES)
    return (
        f'<x:schema xmlns:x="http://www.w3.org/2001/XMLSchema" xmlns="{NAMESPACE}" targetNamespace="{NAMESPACE}"'
        f' elementFormDefault="qualified"><x:element name="gpx" type="gpxType"/>'
        f"{''.join(_type(name, parts) for name, parts in TYPES.items())}{plain}"
        f'<x:simpleType name="fixType"><x:restriction base="x:string">{fixes}</x:restriction></x:simpleType>'
        '<x:complexType name="extensionsType"><x:sequence>'
        '<x:any namespace="##other" processContents="lax" minOccurs="0" maxOccurs="unbounded"/>'
        "</x:sequence></x:complexType></x:schema>"
    )


def _type(name: str, parts: str) -> str:
    elements, attributes = "", ""
    for part in parts.split():
        label, _, kind = part[:-1].lstrip("@").partition(":")
        held = f'name="{label}" type="{kind if kind.endswith("Type") else f"x:{kind}"}" {OCCURS[part[-1]]}'
        fixed = ' fixed="1.1"' if label == "version" else ""
        if part.startswith("@"):
            attributes += f"<x:attribute {held}{fixed}/>"
        else:
            elements += f"<x:element {held}/>"
    sequence = f"<x:sequence>{elements}</x:sequence>" if elements else ""
    return f'<x:complexType name="{name}">{sequence}{attributes}</x:complexType>'


def _bounded(name: str, base: str, limits: dict[str, str]) -> str:
    facets = "".join(f'<x:{facet} value="{value}"/>' for facet, value in limits.items())
    return f'<x:simpleType name="{name}"><x:restriction base="x:{base}">{facets}</x:restriction></x:simpleType>'
