// The behaviour of a page: keys, edits, reasons, the size table. One on every page.
import { begin } from "loopwright-workroom";

export default {
  template: "<div hidden></div>",
  props: { page: Object },
  mounted() {
    this.room = begin(this.page, (name, detail) => this.$emit(name, detail));
  },
  unmounted() {
    this.room.leave();
  },
  methods: {
    state(state) {
      this.room.state(state);
    },
    busy() {
      this.room.busy();
    },
  },
};
