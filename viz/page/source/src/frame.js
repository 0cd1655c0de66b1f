// The room's frame (x right and y up on the plan, z up) and three's (y up), kept in one place.
import { Vector3 } from "three";

export const toThree = ([x, y, z], into = new Vector3()) => into.set(x, z, -y);
export const toRoom = (v) => [v.x, -v.z, v.y];
