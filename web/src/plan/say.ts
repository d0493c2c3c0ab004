export { say } from "../format/words";
