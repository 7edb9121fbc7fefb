import './style/fonts.css';
import './style/tokens.css';
import './style/base.css';
import { mount } from 'svelte';
import App from './App.svelte';
import { beginSession } from './lib/session';

const target = document.getElementById('desk');
if (target) {
  await beginSession();
  mount(App, { target });
}
// Keeps the pages and the last sheets, so that the bench goes on when the desk is gone.
if (import.meta.env.PROD && 'serviceWorker' in navigator) {
  void navigator.serviceWorker.register('/keeper.js').catch(() => undefined);
}
