"""An invented school's lists: the tables of a OneRoster set, whole, changed or broken.

Columns and their order are those of 1EdTech's OneRoster CSV binding 1.2, all of them, so that a
table here is what a school's system writes. Schools, people and ids are invented.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path

Table = list[dict[str, str]]
Lists = dict[str, Table]
OURS = ["sourcedId", "status", "dateLastModified"]
COLUMNS = {
    "manifest": ["propertyName", "value"],
    "academicSessions": [*OURS, "title", "type", "startDate", "endDate", "parentSourcedId",
                         "schoolYear"],
    "orgs": [*OURS, "name", "type", "identifier", "parentSourcedId"],
    "courses": [*OURS, "schoolYearSourcedId", "title", "courseCode", "grades", "orgSourcedId",
                "subjects", "subjectCodes"],
    "classes": [*OURS, "title", "grades", "courseSourcedId", "classCode", "classType", "location",
                "schoolSourcedId", "termSourcedIds", "subjects", "subjectCodes", "periods"],
    "users": [*OURS, "enabledUser", "username", "userIds", "givenName", "familyName", "middleName",
              "identifier", "email", "sms", "phone", "agentSourcedIds", "grades", "password",
              "userMasterIdentifier", "preferredGivenName", "preferredMiddleName",
              "preferredFamilyName", "primaryOrgSourcedId", "pronouns"],
    "enrollments": [*OURS, "classSourcedId", "schoolSourcedId", "userSourcedId", "role", "primary",
                    "beginDate", "endDate"],
}  # fmt: skip


def user(id_: str, given: str, family: str, number: str = "") -> dict[str, str]:
    """A person."""
    return {"sourcedId": id_, "enabledUser": "true", "username": id_.lower(), "givenName": given,
            "familyName": family, "identifier": number}  # fmt: skip


def place(class_id: str, user_id: str, role: str = "student", **more: str) -> dict[str, str]:
    """An enrolment."""
    return {"sourcedId": f"{class_id}.{user_id}", "classSourcedId": class_id, "role": role,
            "schoolSourcedId": "org-1", "userSourcedId": user_id, "primary": "false",
            **more}  # fmt: skip


def lists() -> Lists:
    """Two classes of a course, one teacher each, three students in one and one in the other."""
    bulk = ("academicSessions", "classes", "courses", "enrollments", "orgs", "users")
    return {
        "manifest": [
            {"propertyName": "manifest.version", "value": "1.0"},
            {"propertyName": "oneroster.version", "value": "1.2"},
            *({"propertyName": f"file.{name}", "value": "bulk"} for name in bulk),
            {"propertyName": "file.roles", "value": "absent"},
        ],
        "orgs": [{"sourcedId": "org-1", "name": "Thornbury Works College", "type": "school"}],
        "academicSessions": [
            {"sourcedId": "y26", "title": "Year 2026/27", "type": "schoolYear",
             "startDate": "2026-08-15", "endDate": "2027-06-30", "schoolYear": "2027"},
            {"sourcedId": "t-1", "title": "2026-autumn", "type": "term", "parentSourcedId": "y26",
             "startDate": "2026-08-15", "endDate": "2027-01-31", "schoolYear": "2027"},
            {"sourcedId": "t-2", "title": "2027-spring", "type": "term", "parentSourcedId": "y26",
             "startDate": "2027-02-01", "endDate": "2027-06-30", "schoolYear": "2027"},
        ],
        "courses": [{"sourcedId": "co-1", "title": "Machine electrics", "orgSourcedId": "org-1"}],
        "classes": [
            {"sourcedId": f"cl-{n}", "title": title, "courseSourcedId": "co-1",
             "classCode": f"ME-{n}", "classType": "scheduled", "schoolSourcedId": "org-1",
             "termSourcedIds": "t-1"}
            for n, title in ((1, "Evening A"), (2, "Evening B"))
        ],
        "users": [
            user("u-t1", "Rosa", "Adeyemi"), user("u-t2", "Mats", "Lindqvist"),
            user("u-1", "Ada", "Krol", "S-001"), user("u-2", "Bo", "Lind", "S-002"),
            user("u-3", "Cleo", "Marsh", "S-003"), user("u-4", "Dan", "Oyelaran"),
        ],
        "enrollments": [
            place("cl-1", "u-t1", "teacher", primary="true"), place("cl-1", "u-1"),
            place("cl-1", "u-2"), place("cl-1", "u-3"), place("cl-2", "u-t2", "teacher"),
            place("cl-2", "u-4"),
        ],
    }  # fmt: skip


def texts(of: Mapping[str, Sequence[Mapping[str, str]]]) -> dict[str, bytes]:
    """The files, by name."""
    found = {}
    for name, rows in of.items():
        text = io.StringIO(newline="")
        writer = csv.DictWriter(text, COLUMNS[name], restval="", lineterminator="\r\n")
        writer.writeheader()
        writer.writerows(rows)
        found[f"{name}.csv"] = text.getvalue().encode()
    return found


def folder(path: Path, files: Mapping[str, bytes]) -> Path:
    """The files in a folder."""
    path.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        (path / name).write_bytes(content)
    return path


def archive(path: Path, files: Mapping[str, bytes]) -> Path:
    """The files in a zip archive, under these very names."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in files.items():
            made.writestr(name, content)
    return path
