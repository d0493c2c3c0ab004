BEGIN TRANSACTION;
CREATE TABLE edit (
	job TEXT NOT NULL, 
	rev INTEGER NOT NULL, 
	id TEXT NOT NULL, 
	base INTEGER NOT NULL, 
	author TEXT NOT NULL, 
	time FLOAT NOT NULL, 
	label TEXT NOT NULL, 
	ops TEXT NOT NULL, 
	PRIMARY KEY (job, rev), 
	UNIQUE (job, id), 
	FOREIGN KEY(job) REFERENCES job (id)
);
INSERT INTO "edit" VALUES('c802f5a77027f12a',1,'old-1',0,'Ada',1800000000.0,'raise','[{"op": "replace", "path": "/shape/bodies/pond/level", "value": 99.0}]');
INSERT INTO "edit" VALUES('c802f5a77027f12a',2,'old-2',1,'Ada',1800000001.0,'client','[{"op": "replace", "path": "/brief/client", "value": "Mrs. Hale"}]');
INSERT INTO "edit" VALUES('c802f5a77027f12a',3,'old-3',2,'Ada',1800000002.0,'lower','[{"op": "replace", "path": "/shape/bodies/pond/level", "value": 98.5}]');
CREATE TABLE file (
	hash TEXT NOT NULL, 
	media_type TEXT NOT NULL, 
	body BLOB NOT NULL, 
	PRIMARY KEY (hash)
);
INSERT INTO "file" VALUES('41738d9a9f86c6dceccaee383325cc5f7ba93d509073775521d7f19b267e19a2','image/png',X'89504E470D0A1A0A6F6C64');
CREATE TABLE job (
	id TEXT NOT NULL, 
	name TEXT NOT NULL, 
	state TEXT NOT NULL, 
	archived INTEGER NOT NULL, 
	demo INTEGER NOT NULL, 
	shown_units TEXT NOT NULL, 
	rev INTEGER NOT NULL, 
	created FLOAT NOT NULL, 
	changed FLOAT NOT NULL, 
	PRIMARY KEY (id)
);
INSERT INTO "job" VALUES('c802f5a77027f12a','Old Mill','signed',0,1,'metric',3,1800000000.0,1800000002.0);
CREATE TABLE log (
	job TEXT NOT NULL, 
	number INTEGER NOT NULL, 
	id TEXT NOT NULL, 
	body TEXT NOT NULL, 
	PRIMARY KEY (job, number), 
	UNIQUE (job, id), 
	FOREIGN KEY(job) REFERENCES job (id)
);
INSERT INTO "log" VALUES('c802f5a77027f12a',1,'v1','{"id": "v1", "kind": "visit", "note": "wet", "time": "2026-05-01T08:00:00Z"}');
CREATE TABLE snapshot (
	job TEXT NOT NULL, 
	rev INTEGER NOT NULL, 
	body TEXT NOT NULL, 
	PRIMARY KEY (job, rev), 
	FOREIGN KEY(job) REFERENCES job (id)
);
INSERT INTO "snapshot" VALUES('c802f5a77027f12a',0,'{
 "demo": true,
 "format": 1,
 "id": "dozen_shots",
 "name": "Old Mill",
 "shape": {
  "bodies": {
   "pond": {
    "outline": {
     "curve": {
      "pegs": [
       {"east": 25.5, "id": "p1", "north": 19.5},
       {"east": 22.5, "id": "p2", "north": 24.0},
       {"east": 17.0, "id": "p3", "north": 24.5},
       {"east": 14.0, "id": "p4", "north": 21.0},
       {"east": 16.0, "id": "p5", "north": 16.5},
       {"east": 21.5, "id": "p6", "north": 16.0}
      ]
     },
     "form": "ring"
    }
   }
  }
 },
 "site": {
  "shots": {
   "s01": {"elevation": 99.62, "place": {"by": "coordinates", "east": 20.0, "north": 9.0}},
   "s02": {"elevation": 99.7, "place": {"by": "coordinates", "east": 28.0, "north": 12.0}},
   "s03": {"elevation": 99.94, "place": {"by": "coordinates", "east": 31.0, "north": 20.0}},
   "s04": {"elevation": 100.1, "place": {"by": "coordinates", "east": 28.0, "north": 28.0}},
   "s05": {"elevation": 100.22, "place": {"by": "coordinates", "east": 20.0, "north": 31.0}},
   "s06": {"elevation": 100.16, "place": {"by": "coordinates", "east": 12.0, "north": 28.0}},
   "s07": {"elevation": 99.98, "place": {"by": "coordinates", "east": 9.0, "north": 20.0}},
   "s08": {"elevation": 99.71, "place": {"by": "coordinates", "east": 12.0, "north": 12.0}},
   "s09": {"elevation": 99.86, "place": {"by": "coordinates", "east": 24.0, "north": 17.0}},
   "s10": {"elevation": 99.9, "place": {"by": "coordinates", "east": 16.0, "north": 18.0}},
   "s11": {"elevation": 100.05, "place": {"by": "coordinates", "east": 17.0, "north": 24.0}},
   "s12": {"elevation": 100.03, "place": {"by": "coordinates", "east": 24.0, "north": 24.0}}
  }
 }
}
');
CREATE TABLE store_format (
	format INTEGER NOT NULL
);
INSERT INTO "store_format" VALUES(1);
CREATE TABLE version (
	job TEXT NOT NULL, 
	name TEXT NOT NULL, 
	rev INTEGER NOT NULL, 
	signed_by TEXT NOT NULL, 
	time FLOAT NOT NULL, 
	figures TEXT NOT NULL, 
	PRIMARY KEY (job, name), 
	FOREIGN KEY(job) REFERENCES job (id)
);
INSERT INTO "version" VALUES('c802f5a77027f12a','signed',2,'Mrs. Hale',1800000000.0,'{"shape.storage.bodies.pond.volume": 12.5}');
COMMIT;
