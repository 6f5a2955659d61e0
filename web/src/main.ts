import "@fontsource-variable/atkinson-hyperlegible-next/wght.css";
import "@fontsource/libertinus-serif/latin-400.css";
import "./frame/tokens.css";
import "./frame/base.css";
import { mount } from "svelte";
import App from "./App.svelte";
import { theme } from "./frame/theme.svelte";

theme.start();

const target = document.getElementById("app");
if (!target) throw new Error("index.html has no #app");
mount(App, { target });
